"""What a kind of step is: one declaration, with every part that the stages above ask for.

A step is primitive: one thing, point or person each. ``attach G1 to R1, then to K1`` is two ``attach`` actions;
``test 212 A B C`` is three; ``open SW41 and tag it`` an ``open`` and a ``tag``. A slot holds a thing, a `PointRef`, a
tuple (``reach``), a word, a float in SI or a text. Where the plan should say and does not, it holds a `Gap`; where it
says that there is none (``by hand``), None.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, Protocol, TypeAlias

from groundlint.language.statements import Step
from groundlint.plan.models import Action, PointRef, Thing
from groundlint.steps.run import Run
from groundlint.steps.unfolding import Unfold
from groundlint.text import Span


class Slot(NamedTuple):
    """A slot: its name, what it holds, the preposition it is written with, whether it holds several, whether it may be
    left out, its meaning, and whether a label quotes its text."""

    name: str
    holds: str
    preposition: str | None = None
    many: bool = False
    optional: bool = False
    meaning: str = ""
    quoted: bool = False


class Kept(NamedTuple):
    """A protection that a kind of step brings about, and where the world keeps it, so that it is the same whatever
    step brings it and can be asked for at any step.

    ``log`` names the world's log, a value for each thing or one for all; ``words`` say what the thing then is;
    ``holds`` is whether a value protects (None where the log has none). ``when`` are the moments at which alone
    it matters: a kind of step, ``on`` where a clamp goes on, ``reach`` where somebody has a point in reach.
    ``again`` is whether it protects more if it is done again.
    """

    log: str
    words: str
    holds: Callable[[Any], bool]
    when: tuple[str, ...] = ()
    again: bool = False


def there(value: object) -> bool:
    """Whether a log has something of a thing: a record, the step that did it, or that it is so."""
    return value is not None and value is not False


GROUNDS = Kept("hanging", "leads on it", bool)
"""Leads and bonds on a point: what they join it to protects, and they must be off again at the end."""


class Words(Protocol):
    """What the words for a crew need of the plan: the line's name, lengths and times as the plan writes them."""

    @property
    def line(self) -> str:
        """The line's name, empty where none is declared."""
        ...

    def length(self, value: object, where: Span) -> str:
        """A length in m as the place states it, or that it is not stated."""
        ...

    def time(self, value: object, where: Span) -> str:
        """A time in s as the place states it, or that it is not stated."""
        ...


Say: TypeAlias = Callable[[Sequence[Action], Words], str]
Effect: TypeAlias = Callable[[Run, Action], None]


class StepKind(NamedTuple):
    """A kind of step. Every part must be given, so that none can be half there.

    ``verb`` begins its label (``block reclosing on``); ``meaning`` is for who writes rules; ``made_of`` are the
    statements that it comes from, each with what makes actions of it; ``happens`` are the happenings that say what it
    does, for rules to ask at in its place; ``slots`` are in the order of the label; ``say`` makes one sentence for a
    crew of the actions of this kind that one statement became, in order; ``protects`` is what it brings about that
    protects somebody, so that a revision without it is worse: empty where it protects by being done, None where it
    protects nobody; ``does`` is what it does to the world.
    """

    name: str
    verb: str
    meaning: str
    made_of: Mapping[type[Step], Unfold]
    happens: tuple[str, ...]
    slots: tuple[Slot, ...]
    say: Say
    protects: tuple[Kept, ...] | None
    does: Effect

    def label(self, action: Action) -> str:
        """A step of this kind in a few words: ``attach G20 to 212 A``."""
        words = [self.verb]
        for slot in self.slots:
            value = action.slots.get(slot.name)
            if isinstance(value, (PointRef, Thing)):
                words += [slot.preposition, str(value)] if slot.preposition else [str(value)]
            elif slot.quoted and isinstance(value, str):
                words.append(f'"{value}"')
        return " ".join(words)


BY_STICK = Slot("stick", "stick", "by", meaning="None where done by hand")


def nothing(_run: Run, _action: Action) -> None:
    """The effect of a step that changes nothing in the world: what it says is for people and rules."""


__all__ = ["BY_STICK", "GROUNDS", "Effect", "Kept", "Say", "Slot", "StepKind", "Words", "nothing", "there"]

"""What steps of every kind share: where the replay is, and the message for one that cannot be done as written."""

from __future__ import annotations

from groundlint.plan.models import Action
from groundlint.text import Diagnostic, Span
from groundlint.world.world import World

Related = tuple[tuple[Span, str], ...]


class Steps:
    """The step at hand, ``action`` number ``index``, whose outcome holds from ``position``."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.index, self.position = 0, 1
        self.action: Action

    def mistake(self, code: str, message: str, mend: str, related: Related = ()) -> None:
        """The step at hand cannot be done as written."""
        use = self.action.use
        if use is not None:
            related = (*related, (use, "the routine is done here"))
        self.world.problems.append(Diagnostic(code, self.action.span, message, mend=mend, related=related))

    def line(self, index: int) -> int:
        """The line of a step."""
        return self.world.plan.actions[index].span.line

    def since(self, index: int | None, words: str = "since") -> str:
        """`` (since line 12)``, or nothing where no step did it."""
        return f" ({words} line {self.line(index)})" if index is not None else ""

    def step_at(self, index: int | None, words: str) -> Related:
        """The place of an earlier step."""
        return ((self.world.plan.actions[index].span, words),) if index is not None else ()

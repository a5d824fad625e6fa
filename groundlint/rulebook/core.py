"""The closed core that every condition of a rule expands to: past-time first-order logic over a finite trace with data.

Nodes are named tuples rather than dataclasses: they are defined, unpickled and hashed by the thousand at every start.
The last field of each, ``op``, is fixed; it keeps nodes of two classes with equal parts apart.

Meaning, at position i of a trace of n steps, in strong Kleene logic (false < unknown < true):

    not A          turns the order round             previously A   A at i - 1; false at 0
    A and B        min                               once A         max(A, once A at i - 1)
    A or B         max                               always A       min(A, always A at i - 1)
    A implies B    max(not A, B)                     A since B      max(B, min(A, A since B at i - 1))
    each x: A      min over the things x             after A        A at i + 1; at the end, A at n
    some x: A      max over the things x             finally A      A at n

`once A within k steps` is max of A over positions i - k to i. A kind whose set the plan does not state complete adds
one unknown member to ``each`` and ``some`` and makes a ``count`` unknown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, TypeAlias

from groundlint.facts.catalogue import FactKey, Kind

if TYPE_CHECKING:  # a checker of types compares named tuples part by part, and these hold each other: that took minutes
    from typing import ClassVar, Self, dataclass_transform

    @dataclass_transform(frozen_default=True)
    class NamedTuple:
        """What of a named tuple is used of these."""

        _fields: ClassVar[tuple[str, ...]]

        def _replace(self, **values: Any) -> Self: ...
        def __iter__(self) -> Iterator[Any]: ...
        def __getitem__(self, at: int) -> Any: ...
        def __len__(self) -> int: ...
else:
    from typing import NamedTuple


class Var(NamedTuple):
    """A name bound by the occasion, a quantifier or a parameter; ``plan`` and ``it`` are always bound."""

    name: str
    kind: Kind
    op: str = "var"


class Quantity(NamedTuple):
    """A number with its unit, in SI; ``text`` is as it was written."""

    si: float
    dimension: str
    text: str
    op: str = "quantity"


class Word(NamedTuple):
    """A word of a choice."""

    word: str
    op: str = "word"


class Setting(NamedTuple):
    """A named setting of the book, whose value the book at hand decides."""

    name: str
    op: str = "setting"


class Of(NamedTuple):
    """A valued fact: ``length of lead``, ``distance of worker to conductor``."""

    fact: FactKey
    subject: Term
    other: Term | None = None
    op: str = "of"


class Arithmetic(NamedTuple):
    """Two quantities joined by ``+ - * /``."""

    sign: str
    left: Term
    right: Term
    op: str = "arithmetic"


class Negative(NamedTuple):
    """A quantity with its sign turned."""

    of: Term
    op: str = "negative"


class Count(NamedTuple):
    """How many things of a kind satisfy a condition."""

    name: str
    kind: Kind
    where: Formula | None
    op: str = "count"


class Is(NamedTuple):
    """A truth fact: ``point is grounded``, ``lead is joined-to bar``."""

    fact: FactKey
    subject: Term
    other: Term | None = None
    op: str = "is"


class Compare(NamedTuple):
    """Two terms compared by ``< <= > >= = !=``."""

    sign: str
    left: Term
    right: Term
    op: str = "compare"


class Known(NamedTuple):
    """True where the term or condition has a value, unknown where it has none; false only where there is no thing."""

    of: Term | Formula
    op: str = "known"


class Did(NamedTuple):
    """The step at the position is of a kind and names these things in these slots."""

    step: str
    slots: tuple[tuple[str, Term], ...]
    op: str = "did"


class Not(NamedTuple):
    """Negation."""

    of: Formula
    op: str = "not"


class And(NamedTuple):
    """Conjunction of two or more."""

    parts: tuple[Formula, ...]
    op: str = "and"


class Or(NamedTuple):
    """Disjunction of two or more."""

    parts: tuple[Formula, ...]
    op: str = "or"


class Implies(NamedTuple):
    """Material implication."""

    left: Formula
    right: Formula
    op: str = "implies"


class Previously(NamedTuple):
    """At the position before this one."""

    of: Formula
    op: str = "previously"


class Once(NamedTuple):
    """At this position or one before it; no more than ``within`` before it where that is given."""

    of: Formula
    within: int | None = None
    op: str = "once"


class Always(NamedTuple):
    """At this position and at every one before it."""

    of: Formula
    op: str = "always"


class Since(NamedTuple):
    """``right`` was so at some position up to now, and ``left`` at every position after that one."""

    left: Formula
    right: Formula
    op: str = "since"


class Each(NamedTuple):
    """For every thing of a kind that satisfies ``where``."""

    name: str
    kind: Kind
    where: Formula | None
    body: Formula
    op: str = "each"


class Some(NamedTuple):
    """For at least one thing of a kind that satisfies ``where``."""

    name: str
    kind: Kind
    where: Formula | None
    body: Formula
    op: str = "some"


class After(NamedTuple):
    """Asked of the world after the step at the position."""

    of: Formula
    op: str = "after"


class Finally(NamedTuple):
    """Asked at the end of the plan, with the names bound now."""

    of: Formula
    op: str = "finally"


class Call(NamedTuple):
    """A named condition, asked of these things."""

    name: str
    args: tuple[Term, ...]
    op: str = "call"


Term: TypeAlias = Var | Quantity | Word | Setting | Of | Arithmetic | Negative | Count
Formula: TypeAlias = (
    Is | Compare | Known | Did | Not | And | Or | Implies | Previously | Once | Always | Since | Each | Some | After
    | Finally | Call
)  # fmt: skip
Node: TypeAlias = Term | Formula


class Condition(NamedTuple):
    """A named condition: its parameters with their kinds, and what it means."""

    name: str
    parameters: tuple[tuple[str, Kind], ...]
    body: Formula


def children(node: Node) -> Iterator[Node]:
    """The nodes directly below one, in the order written."""
    if isinstance(node, (Of, Is)):
        yield node.subject
        if node.other is not None:
            yield node.other
    elif isinstance(node, (Arithmetic, Compare, Implies, Since)):
        yield node.left
        yield node.right
    elif isinstance(node, (Negative, Known, Not, Previously, Once, Always, After, Finally)):
        yield node.of
    elif isinstance(node, (And, Or)):
        yield from node.parts
    elif isinstance(node, (Count, Each, Some)):
        if node.where is not None:
            yield node.where
        if not isinstance(node, Count):
            yield node.body
    elif isinstance(node, Did):
        for _, term in node.slots:
            yield term
    elif isinstance(node, Call):
        yield from node.args


def larger(node: Node, limit: int) -> bool:
    """Whether a node has more than so many parts in all, found without counting further."""
    count, edge = 0, [node]
    while edge:
        count += len(edge)
        if count > limit:
            return True
        edge = [child for above in edge for child in children(above)]
    return False


def kinds_of_step(node: Formula, conditions: Mapping[str, Condition]) -> frozenset[str] | None:
    """The kinds of step at which a formula may be other than false; None where it may be so at any.

    A quantifier may be unknown at any step, where not all things of its kind are stated.
    """
    match node:
        case Did():
            return frozenset((node.step,))
        case Call():
            return kinds_of_step(conditions[node.name].body, conditions)
        case And():
            known = [kinds for part in node.parts if (kinds := kinds_of_step(part, conditions)) is not None]
            return frozenset.intersection(*known) if known else None
        case Or():
            each = [kinds_of_step(part, conditions) for part in node.parts]
            return None if None in each else frozenset().union(*(kinds for kinds in each if kinds is not None))
    return None


def free_names(node: Node) -> frozenset[str]:
    """Names that must be bound from outside; ``it`` and ``plan`` are not among them, being the same for a position."""
    if isinstance(node, Var):
        return frozenset() if node.name in ("it", "plan") else frozenset((node.name,))
    found: frozenset[str] = frozenset().union(*(free_names(child) for child in children(node)))
    if isinstance(node, (Count, Each, Some)):
        return found - {node.name}
    return found


def needs(nodes: Iterable[Node], conditions: Mapping[str, Condition]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the settings and of the conditions that nodes rest on, those that conditions rest on included."""
    settings: dict[str, None] = {}
    called: dict[str, None] = {}
    edge = list(nodes)
    while edge:
        node = edge.pop()
        if isinstance(node, Setting):
            settings[node.name] = None
        elif isinstance(node, Call) and node.name not in called:
            called[node.name] = None
            edge.append(conditions[node.name].body)
        edge.extend(children(node))
    return tuple(sorted(settings)), tuple(sorted(called))


def conjunction(parts: tuple[Formula, ...]) -> Formula:
    """All of these; there must be one at least."""
    return parts[0] if len(parts) == 1 else And(parts)


# ---- sugar: each shape of the surface language and the core it stands for ----


def earlier(of: Formula) -> Formula:
    """At some position before this one (precedence)."""
    return Previously(Once(of))


def never(of: Formula) -> Formula:
    """At no position up to now (absence)."""
    return Always(Not(of))


def none(name: str, kind: Kind, where: Formula | None, body: Formula) -> Formula:
    """For no thing of the kind."""
    return Each(name, kind, where, Not(body))


def at_least(times: int, of: Formula) -> Formula:
    """At that many positions up to now, or more (existence)."""
    found: Formula = Once(of)
    for _ in range(times - 1):
        found = Once(And((of, Previously(found))))
    return found


def at_most(times: int, of: Formula) -> Formula:
    """At no more than so many positions up to now (absence n + 1)."""
    return Not(at_least(times + 1, of))


def exactly(times: int, of: Formula) -> Formula:
    """At so many positions up to now, no fewer and no more (exactly n)."""
    if times == 0:
        return never(of)
    return And((at_least(times, of), at_most(times, of)))


def unanswered(cause: Formula, effect: Formula) -> Formula:
    """A cause with no effect at a later position, up to now."""
    return Since(Not(effect), cause)


def followed(cause: Formula, effect: Formula) -> Formula:
    """Every cause has its effect at a later position, asked at the end (response)."""
    return Finally(Not(unanswered(cause, effect)))


def followed_before(cause: Formula, effect: Formula, close: Formula) -> Formula:
    """Every cause has its effect at a later position, and before the next close (response within a stretch)."""
    open_now = unanswered(cause, effect)
    return Finally(And((Always(Implies(close, Not(Previously(open_now)))), Not(open_now))))

"""Statements about the plan as a whole."""

from __future__ import annotations

from typing import Literal

from groundlint.language.nodes import Amount, Date, Name, Point, Text, Word
from groundlint.language.statements.base import Away, Names, Statement, doc, flag, need, row, statement


class Header(Statement):
    """About the plan as a whole."""

    group = "headers"


@statement
class Plan(Header):
    """The plan's title."""

    kind: Literal["plan"] = "plan"
    title: Text = need("what the job is")


@statement
class Document(Header):
    """The procedure's identity in the employer's papers."""

    kind: Literal["document"] = "document"
    ident: Name = need("document number")
    revision: Name | None = doc("revision")
    dated: Date | None = doc("date of this revision; test dates and waivers are held against it")


@statement
class Method(Header):
    """The arrangement declared; the steps must then build it."""

    kind: Literal["method"] = "method"
    method: Word = need("single-point, dual-point")
    variant: Word | None = doc("`small neutral`: leads from the bar to the neutral and from the bar to the phase")
    access: Word | None = doc("worked `from the pole`, `from a bucket`, `from steel`")


@statement
class Caution(Header):
    """A caution that the crew is to be told."""

    kind: Literal["caution"] = "caution"
    text: Text = need("the caution")


@statement
class Emergency(Header):
    """What to do in an emergency: whom to call, how to bring a person down."""

    kind: Literal["emergency"] = "emergency"
    text: Text = need("the arrangement")


@statement
class Follows(Header):
    """A regulation, standard or book of rules that the plan says it keeps to, with the paragraph; one a line."""

    kind: Literal["follows"] = "follows"
    text: Text = need("what it follows, as the source cites itself")


@statement
class Use(Header):
    """Takes in the things of another file, by a path inside the plan's own folder tree."""

    kind: Literal["use"] = "use"
    path: Text = need("path relative to this file")


@statement
class Given(Header):
    """A value that the plan leaves open, so that one procedure serves many sites; used as `given NAME` in a quantity's
    place."""

    kind: Literal["given"] = "given"
    name: Name = need("its name")
    ident: Name = need("what it is: a dimension (`current`, `length`, `time`, ...)")
    default: Amount | Name | None = doc("value where none is given: a quantity, or a name for a structure")


@statement
class NoSource(Header):
    """The sources declared are all there are. With two or more sources, they are named: `no source but West Solar`."""

    kind: Literal["no_source"] = "no_source"
    names: Names = row("the sources, where named")


@statement
class NoParallel(Header):
    """No other circuit runs beside the line: nothing induces voltage on it."""

    kind: Literal["no_parallel"] = "no_parallel"


@statement
class NoNeighbour(Header):
    """No live part is near the work but those declared; with any declared, they are named."""

    kind: Literal["no_neighbour"] = "no_neighbour"
    names: Names = row("the neighbours, where named")


@statement
class Waive(Header):
    """Sets a rule aside, for a reason, on a role's word, until a date; listed in every review."""

    kind: Literal["waive"] = "waive"
    ident: Name = need("the rule")
    subjects: Names = row("the things it is waived for; all where none is named")
    because: Text | None = doc("the reason")
    approved: Text | None = doc("the role that approves")
    until: Date | None = doc("the last day it holds")


@statement
class NoGrounds(Header):
    """The work is done without grounds, for the reasons and on the conditions stated."""

    kind: Literal["no_grounds"] = "no_grounds"
    because: Text | None = doc("why")
    conditions: tuple[Word, ...] = doc(
        "`no contact possible`, `no induction`, `impracticable`, `more hazardous`", many=True
    )


@statement
class PartOf(Header):
    """The plan is one part of a job that is done in several, a day or a shift each; which one of how many."""

    kind: Literal["part"] = "part"
    which: Name = need("which part, counted from 1")
    of_parts: Name | None = doc("how many parts the job has")


@statement
class Begins(Header):
    """What the part before has left: rods in the ground, bars on structures, leads with the two points that each is on,
    conductors that are cut, the clearance and who holds it; in the order in which they came about. Tests, and a
    detector's proof, do not carry over."""

    kind: Literal["begins"] = "begins"
    names: Names = row("rods, bars or leads")
    at: Name | None = doc("of rods and bars: the structure")
    from_pole: Amount | None = doc("of rods: distance from the structure", dimension="length")
    from_rod: tuple[Away, ...] = doc("of rods: distance from each rod named", clause="from_rod", many=True)
    deep: Amount | None = doc("of rods: depth in contact with the soil", dimension="length")
    height: Word | None = doc("of bars: below or above, the feet or a conductor")
    height_of: Name | None = doc("of bars: conductor that the height is relative to")
    first: Point | None = doc("of leads: the point that one end is on")
    second: Point | None = doc("of leads: the point that the other end is on")
    clearance: bool = flag("the clearance is held", clause="held")
    by: Name | None = doc("the person or crew that holds it")
    points: tuple[Word, ...] = row("conductors that are cut")


@statement
class Leaves(Header):
    """What stays on when this part of the job ends, for the part after it; and whose clearance, held meanwhile, it
    stands under."""

    kind: Literal["leaves"] = "leaves"
    names: Names = need("leads, rods, bars")
    under: Name | None = doc("the person or crew whose clearance is held")


AnyHeader = (
    Plan | Document | Method | Caution | Emergency | Follows | Use | Given | NoSource | NoParallel | NoNeighbour
    | Waive | NoGrounds | PartOf | Begins | Leaves
)  # fmt: skip

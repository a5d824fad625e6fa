"""Statements that declare things by name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from groundlint.language.nodes import Amount, Date, Name, Point, Size, Text, Word
from groundlint.language.statements.base import Names, Part, Statement, doc, flag, need, row, statement
from groundlint.language.statements.properties import Hop


class Thing(Statement):
    """Declares things by name."""

    group = "things"


@statement
class Line(Thing):
    """The line that is worked on."""

    kind: Literal["line"] = "line"
    names: Names = need("its name")


@statement
class SourceDecl(Thing):
    """Something that can energize the line: the utility's feed, a tie, customer generation, a transformer fed from its
    other side."""

    kind: Literal["source"] = "source"
    names: Names = need("its name")
    beyond: Name | None = doc("the end of the route that it feeds from")
    at: Name | None = doc("the structure that it feeds in at")
    sort: Word | None = doc(
        "utility, tie, customer generation, transformer backfeed, possible backfeed; utility where not said"
    )
    located: bool = flag("`not located`: it may exist, and where is not known")


@statement
class Parallel(Thing):
    """A circuit beside the line, which induces voltage on it."""

    kind: Literal["parallel"] = "parallel"
    names: Names = need("its name")
    beside: tuple[Name, ...] = row("the structures between which it runs beside the line")
    distance: Amount | None = doc("how far from the line", dimension="length")


@statement
class Neighbour(Thing):
    """A live part near the work: a crossing, an underbuild, a jumper, a circuit on the same structure."""

    kind: Literal["neighbour"] = "neighbour"
    names: Names = need("its name")
    live: Amount | None = doc("its voltage between phases", dimension="voltage")
    at: Name | None = doc("the structure that it is near")
    gap: Amount | None = doc("its distance from the point named", dimension="length")
    gap_from: Point | None = doc("the point that the distance is from")
    covered: bool = flag("covered before the plan begins")
    bare: bool = flag("stands bare: not covered before the plan begins")
    goods: Names = row("the rubber goods or rigid covers that cover it before the plan begins")


@statement
class Switch(Thing):
    """An open point, with what stands on either side: a switch, breaker, recloser, fuse, jumper, elbow.

    The last four fields are what has to be so of a network protector that carries no tag.
    """

    kind: Literal["switch"] = "switch"
    sort: Word = need("switch, disconnect, breaker, recloser, fuse, jumper, elbow, tap, open point, network protector")
    names: Names = need("its name")
    between: tuple[Name, ...] = row(
        "the two sides: a source, a structure, another switch, a capacitor on that structure; between neighbours on"
        " the route it cuts off what is behind it from each source beyond the route's ends that nothing else opens"
    )
    at: Name | None = doc("the structure that it hangs on, within reach of who is up there")
    away: Amount | None = doc("how far its live parts are from a structure, along the span", dimension="length")
    away_from: Name | None = doc("the structure that they are so far from")
    position: Word | None = doc("open, closed, normally open, normally closed, before the plan begins")
    tagged: bool = flag("tagged before the plan begins")
    locked: bool = flag("locked before the plan begins")
    visible: bool = flag("its gap can be seen", clause="visible")
    hidden: bool = flag("`no visible gap`: its gap cannot be seen")
    control: Word | None = doc("remote, automatic, manual")
    reach: Word | None = doc("`out of public reach` or `within public reach`: of people outside the employer's control")
    no_lock: bool = flag("`no place for a lock`: its design does not let it be made inoperable")
    control_stays: bool = flag("`control always on`: the design of its remote or automatic control does not let it")
    trips_open: bool = flag("kept so that it trips open at once if closed while a primary conductor is dead")
    tools_to_close: bool = flag("cannot be closed by hand without tools")
    override_blocked: bool = flag("its manual override position is blocked, locked or disabled")
    override_procedure: bool = flag(
        "a procedure for closing it by hand: first find out that the line is not dead for anybody's protection, and"
        " that the primary is live"
    )


@statement
class Capacitor(Thing):
    """A capacitor on the line, or a bank of them, which stays charged when it is disconnected."""

    kind: Literal["capacitor"] = "capacitor"
    names: Names = need("its name")
    at: Name | None = doc("the structure that it is on")


@statement
class Cable(Thing):
    """A piece of the line that is cable, all its conductors, and the vaults or manholes on its way: places like the
    structures of the route, which stand between its two terminals."""

    kind: Literal["cable"] = "cable"
    name: Name = need("its name")
    terminals: tuple[Name, ...] = row("the structures that it ends at, neighbours on the route")
    vaults: tuple[Hop, ...] = row("vaults in order, each with the length of cable that follows")
    transfer: Word | None = doc(
        "`transfer of potential possible`, or `not possible`: whether a fault could bring the potential of a terminal "
        "to somebody at the cable; `not possible` needs a reason"
    )
    because: Text | None = doc("why no transfer is possible")


@statement
class Structure(Thing):
    """A pole or tower."""

    kind: Literal["structure"] = "structure"
    names: Names = need("its name")
    material: Word | None = doc("wood, steel, concrete")
    footing: Amount | None = doc("footing resistance", dimension="resistance")
    pole_ground: bool = flag("has a down-lead to a ground at its butt")
    pole_ground_resistance: Amount | None = doc("resistance of that ground", dimension="resistance")
    guyed: bool = flag("has a guy")
    dead_end: bool = flag("the line ends here, and none of its conductors goes on beyond")


@statement
class Soil(Thing):
    """Resistivity of the soil, in one layer or two."""

    kind: Literal["soil"] = "soil"
    amount: Amount = need("resistivity of the upper layer", dimension="resistivity")
    depth: Amount | None = doc("depth of the upper layer", dimension="length")
    lower: Amount | None = doc("resistivity below", dimension="resistivity")


@statement
class Surface(Thing):
    """A surface layer where people stand, such as gravel."""

    kind: Literal["surface"] = "surface"
    layer: Name | None = doc("what it is")
    amount: Amount = need("its resistivity", dimension="resistivity")
    thick: Amount | None = doc("its thickness", dimension="length")


@statement
class Measured(Thing):
    """What was measured of a value that is else assumed between bounds, such as the resistance of a clamp's contact."""

    kind: Literal["measured"] = "measured"
    ident: Name = need("which value, as the calculation record names it, such as clamp-contact-resistance")
    amount: Amount = need("what was measured")


@statement
class Equipment(Thing):
    """What every piece of equipment may carry."""

    names: Names = need("names")
    tested: Date | None = doc("last electrical test")
    inspected: Date | None = doc("last inspection")
    due: Date | None = doc("next test due")


@statement
class Rod(Equipment):
    """A temporary ground rod, `6 ft x 5/8 in` or `5/8 in x 6 ft`."""

    kind: Literal["rod"] = "rod"
    length: Amount | None = doc("length", dimension="length")
    across: Amount | None = doc("diameter", dimension="length")


@statement
class Bar(Equipment):
    """A cluster bar."""

    kind: Literal["bar"] = "bar"


@statement
class Lead(Equipment):
    """A cable with a clamp on each end."""

    kind: Literal["lead"] = "lead"
    size: Size | None = doc("wire size")
    metal: Word | None = doc("copper, aluminum, acsr, acss, aac, aaac")
    length: Amount | None = doc("length", dimension="length")
    grade: Word | None = doc("clamp and assembly grade of ASTM F855, `3` or `5H`")
    rated: tuple[Amount, ...] = row("current and time on its label, as of IEC 61230; beside a grade the lower counts")
    clamps: Name | None = doc("type of clamp")
    clamps_grade: Word | None = doc("grade of its clamps by themselves, `clamps C-type of grade 5`")
    alloy: Word | None = doc("metal of the bodies of its clamps: bronze, copper, aluminum")
    jaws: Word | None = doc("jaws of its clamps: smooth, serrated, self-cleaning")
    fit_size: tuple[Size, ...] = row("smallest and largest conductor that its clamps are for, as wire sizes")
    fit_across: tuple[Amount, ...] = row("the same as diameters", dimension="length")


@statement
class Detector(Equipment):
    """A voltage detector, with the voltages it is made for."""

    kind: Literal["detector"] = "detector"
    range: tuple[Amount, ...] = row("lowest and highest voltage between phases", dimension="voltage")
    detecting: Word | None = doc("contact or proximity")


@statement
class Tester(Equipment):
    """The instrument that proves a detector."""

    kind: Literal["tester"] = "tester"


@statement
class Stick(Equipment):
    """A live-line tool."""

    kind: Literal["stick"] = "stick"
    length: Amount | None = doc("insulating length", dimension="length")


@statement
class Rubber(Equipment):
    """Insulating gloves, sleeves, blankets, line hose or covers, with the class that is marked on them."""

    kind: Literal["rubber"] = "rubber"
    sort: Word = need("rubber gloves, rubber sleeves, rubber blanket, rubber line hose, rubber cover, rigid cover")
    rating: Name | None = doc("class marked on it: 00 to 4 of rubber, 2 to 6 of rigid covers")


@statement
class LooseWire(Thing):
    """A conductor that is handled loose, such as a jumper or a tail: it is no ground, and is as live as what it
    touches."""

    kind: Literal["loose_wire"] = "loose_wire"
    names: Names = need("names")
    length: Amount | None = doc("length", dimension="length")


@statement
class Mat(Thing):
    """A conductive mat to stand on."""

    kind: Literal["mat"] = "mat"
    names: Names = need("names")


@statement
class Vehicle(Equipment):
    """A bucket truck, lift, crane, tensioner or trailer."""

    kind: Literal["vehicle"] = "vehicle"
    body: Word | None = doc("bucket truck, lift, crane, digger, pickup, truck, tensioner, trailer")
    insulation: Word | None = doc("insulated or uninsulated boom")


@dataclass(frozen=True)
class Member(Part):
    """People of one role in a crew."""

    role: Word
    names: Names
    qualified: bool | None = None


@statement
class Crew(Thing):
    """The people of a crew, each with a role."""

    kind: Literal["crew"] = "crew"
    crew_name: Name | None = doc("the crew's name, where there are several")
    under: Name | None = doc(
        "the one person in charge of the clearance for this crew and others, `crew East under L1:`"
    )
    members: tuple[Member, ...] = need("roles and names", clause="member", many=True)


AnyThing = (
    Line | SourceDecl | Parallel | Neighbour | Switch | Capacitor | Cable | Structure | Soil | Surface | Measured | Rod
    | Bar | Lead | Detector | Tester | Stick | Rubber | LooseWire | Mat | Vehicle | Crew
)  # fmt: skip

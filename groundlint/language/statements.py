"""What a plan says, statement by statement: the canonical model, of which the JSON schema is published.

Each class is one kind of statement; its docstring is its entry in the language reference. A field is filled by the
statement's own names or by the grammar's clause of the same name (``clause`` in the field's metadata where they
differ). An absent field is not known.
"""

from __future__ import annotations

from dataclasses import Field, dataclass, field, fields
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, TypeVar, dataclass_transform, get_args

from groundlint.language.nodes import NOWHERE, Amount, Date, Name, Point, Size, Text, Word
from groundlint.text import Span
from groundlint.values.record import Record, record

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema


def doc(meaning: str, *, clause: str = "", many: bool = False, dimension: str = "", **kwargs: Any) -> Any:
    """A field that an absent clause leaves unknown: its meaning, clause, whether it may come more than once, its
    dimension."""
    default: Any = () if many else None
    return field(
        default=default, metadata={"doc": meaning, "clause": clause, "many": many, "dimension": dimension}, **kwargs
    )


def need(meaning: str, *, clause: str = "", many: bool = False, dimension: str = "") -> Any:
    """A field that the statement cannot be without."""
    return field(metadata={"doc": meaning, "clause": clause, "many": many, "dimension": dimension})


def flag(meaning: str, *, clause: str = "") -> Any:
    """A field that is true where its clause stands."""
    return field(
        default=False, metadata={"doc": meaning, "clause": clause, "many": False, "dimension": "", "flag": True}
    )


def row(meaning: str, *, dimension: str = "") -> Any:
    """A field of several words in one clause, empty where the clause is absent."""
    return field(default=(), metadata={"doc": meaning, "clause": "", "many": False, "dimension": dimension})


Names = tuple[Name, ...]
S = TypeVar("S")


class ByKind:
    """Marks a union of statements as told apart by ``kind``, for the JSON schema; pydantic is imported only when it
    asks."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        choices = {cls.kind: handler.generate_schema(cls) for cls in get_args(source)}
        return core_schema.tagged_union_schema(choices, discriminator="kind")


# What the JSON of a statement holds: nothing but its fields, named without a last underscore.
JSON_CONFIG: dict[str, Any] = {"extra": "forbid", "alias_generator": lambda name: name.rstrip("_")}


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(doc, need, flag, row))
def statement(cls: type[S]) -> type[S]:
    """Make a class into a record whose fields are the clauses of a statement."""
    return record(cls)


class Part:
    """A group of words inside a statement."""

    __pydantic_config__: ClassVar[dict[str, Any]] = JSON_CONFIG


@statement
class Statement(Record):
    """What every statement may carry beside its words."""

    span: ClassVar[Span] = NOWHERE
    places: ClassVar[dict[str, Span]] = {}
    group: ClassVar[str] = ""
    __pydantic_config__: ClassVar[dict[str, Any]] = JSON_CONFIG

    number: str | None = doc("step number as written, `4` or `4a`")
    comment: str | None = doc("comment at the end of the line, without its `#`")
    before: tuple[str, ...] = doc("comment lines above, without their `#`; an empty string is a blank line", many=True)

    def placed(self, span: Span, places: dict[str, Span]) -> Statement:
        """The same statement, with the place of the whole and of each field."""
        object.__setattr__(self, "span", span)
        object.__setattr__(self, "places", places)
        return self

    def place(self, field_name: str) -> Span:
        """Where a field was said, or the whole statement where it was not."""
        return self.places.get(field_name, self.span)


class Header(Statement):
    """About the plan as a whole."""

    group = "headers"


class Thing(Statement):
    """Declares things by name."""

    group = "things"


class Property(Statement):
    """Says more of the line, source or parallel circuit above."""

    group = "properties"


class Step(Statement):
    """Something done, in the order of the text."""

    group = "steps"


# ------------------------------------------------------------------ headers
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


# ------------------------------------------------------------------ things
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


@statement
class Switch(Thing):
    """An open point, with what stands on either side: a switch, breaker, recloser, fuse, jumper, elbow."""

    kind: Literal["switch"] = "switch"
    sort: Word = need("switch, disconnect, breaker, recloser, fuse, jumper, elbow, tap, open point")
    names: Names = need("its name")
    between: tuple[Name, ...] = row("the two sides: a source, a structure, another switch")
    position: Word | None = doc("open, closed, normally open, normally closed, before the plan begins")
    tagged: bool = flag("tagged before the plan begins")
    visible: bool = flag("its gap can be seen", clause="visible")
    hidden: bool = flag("`no visible gap`: its gap cannot be seen")
    control: Word | None = doc("remote, automatic, manual")


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
    """A temporary ground rod, `6 ft x 5/8 in`."""

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
    metal: Word | None = doc("copper, aluminum, acsr, aac")
    length: Amount | None = doc("length", dimension="length")
    grade: Word | None = doc("clamp and assembly grade of ASTM F855, `3` or `5H`")
    clamps: Name | None = doc("type of clamp")
    clamps_grade: Word | None = doc("grade of its clamps by themselves, `clamps C-type of grade 5`")


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
    members: tuple[Member, ...] = need("roles and names", clause="member", many=True)


# ------------------------------------------------------------------ properties
@statement
class Voltage(Property):
    """Nominal voltage between phases."""

    kind: Literal["voltage"] = "voltage"
    amount: Amount = need("voltage", dimension="voltage")


@statement
class Frequency(Property):
    """Power frequency; 60 Hz where not said is *not* assumed for clearing times given in cycles."""

    kind: Literal["frequency"] = "frequency"
    amount: Amount = need("frequency", dimension="frequency")


@statement
class Phases(Property):
    """The phase conductors, in order."""

    kind: Literal["phases"] = "phases"
    names: Names = need("names")


@statement
class Neutral(Property):
    """The neutral conductor, or that there is none."""

    kind: Literal["neutral"] = "neutral"
    name: Name | None = doc("its name; absent in `no neutral`")
    earthing: Word | None = doc("multigrounded or unigrounded")
    duty: Word | None = doc("`carries the fault` or `too small for the fault`")


@statement
class Shield(Property):
    """The shield wire, or that there is none."""

    kind: Literal["shield"] = "shield"
    name: Name | None = doc("its name; absent in `no shield wire`")


@dataclass(frozen=True)
class Wire(Part):
    """Conductors of one size and kind."""

    names: Names
    size: Size
    metal: Word | None = None


@statement
class Wires(Property):
    """Sizes of the line's conductors."""

    kind: Literal["wires"] = "wires"
    wires: tuple[Wire, ...] = need("conductors and their size", clause="wire", many=True)


@dataclass(frozen=True)
class Hop(Part):
    """A structure on the route and the span that follows it."""

    structure: Name
    span_length: Amount | None = None


@statement
class Route(Property):
    """The structures in order, each with the length of the span that follows."""

    kind: Literal["route"] = "route"
    hops: tuple[Hop, ...] = need("structures and spans", clause="hop", many=True)


@statement
class Spacing(Property):
    """A named arrangement of the conductors."""

    kind: Literal["spacing"] = "spacing"
    ident: Name = need("its name")


@dataclass(frozen=True)
class Coordinate(Part):
    """Where a conductor hangs: across from the structure's centre, and above ground."""

    conductor: Name
    across: Amount
    height: Amount


@statement
class Place(Property):
    """Where each conductor hangs."""

    kind: Literal["place"] = "place"
    coordinates: tuple[Coordinate, ...] = need("conductors and coordinates", clause="coordinate", many=True)


@statement
class Altitude(Property):
    """Height above sea level, for approach distances."""

    kind: Literal["altitude"] = "altitude"
    amount: Amount = need("altitude", dimension="length")


@statement
class Approach(Property):
    """The distance from live parts that the plan tells its crew to keep."""

    kind: Literal["approach"] = "approach"
    amount: Amount = need("distance from live parts", dimension="length")


@statement
class Current(Property):
    """Load current of a parallel circuit."""

    kind: Literal["current"] = "current"
    amount: Amount = need("current", dimension="current")


@statement
class Fault(Property):
    """Fault current that the source can drive at the place where it feeds in."""

    kind: Literal["fault"] = "fault"
    three_phase: Amount | None = doc("three-phase fault current, rms symmetrical", dimension="current")
    to_ground: Amount | None = doc("single line to ground fault current", dimension="current")
    x_over_r: Name | None = doc("X/R of the source")


@statement
class Power(Property):
    """Three-phase fault level of the source."""

    kind: Literal["power"] = "power"
    amount: Amount = need("fault level", dimension="power")
    x_over_r: Name | None = doc("X/R of the source")


@statement
class Impedance(Property):
    """Sequence impedances of the source."""

    kind: Literal["impedance"] = "impedance"
    positive: tuple[Amount, ...] = row("positive sequence resistance and reactance", dimension="resistance")
    zero: tuple[Amount, ...] = row("zero sequence resistance and reactance", dimension="resistance")


@statement
class Clears(Property):
    """Clearing time of the source's protection, or that it never trips."""

    kind: Literal["clears"] = "clears"
    amount: Amount | None = doc("time", dimension="time")
    never: bool = flag("nothing trips")


@statement
class Relay(Property):
    """The relay and breaker that clear the source."""

    kind: Literal["relay"] = "relay"
    ident: Name = need("curve: `iec-standard-inverse`, `ieee-very-inverse`, ...")
    pickup: Amount | None = doc("pickup current on the primary side", dimension="current")
    dial: Name | None = doc("time dial or time multiplier")
    breaker: Amount | None = doc("breaker interrupting time", dimension="time")


@statement
class Reclosing(Property):
    """Whether the source's reclosing is on, off or blocked before the plan begins."""

    kind: Literal["reclosing"] = "reclosing"
    state: Word = need("on, off, blocked")


@statement
class Through(Property):
    """All the open points between the source and the line; needed where there are two or more."""

    kind: Literal["through"] = "through"
    names: Names = need("switches")


# ------------------------------------------------------------------ blocks
@dataclass(frozen=True)
class Param(Part):
    """Parameters of one kind."""

    sort: Word
    names: Names


@statement
class Stage(Statement):
    """Begins a stage of the job."""

    group = "blocks"

    kind: Literal["stage"] = "stage"
    title: Text = need("its name")


# ------------------------------------------------------------------ steps
@dataclass(frozen=True)
class End(Part):
    """One end of a lead: the point, and by which stick or by hand; neither said is not known."""

    point: Point
    by: Name | None = None
    by_hand: bool = False


@statement
class Brief(Step):
    """Those named have had the job briefing."""

    kind: Literal["brief"] = "brief"
    people: Names = row("people")
    all: bool = flag("`brief all`")


@statement
class Open(Step):
    """Open points are opened, and tagged where the step says `and tag it`."""

    kind: Literal["open"] = "open"
    names: Names = need("switches")
    tag_it: bool = flag("tagged in the same step")
    seen: bool = flag("`gap seen`: the gap was seen to be open")
    by: Name | None = doc("who")


@statement
class Close(Step):
    """Open points are closed, which can energize."""

    kind: Literal["close"] = "close"
    names: Names = need("switches")
    by: Name | None = doc("who: a person, or another crew")


@statement
class Tag(Step):
    """Open points are tagged."""

    kind: Literal["tag"] = "tag"
    names: Names = need("switches")


@statement
class Untag(Step):
    """Tags come off."""

    kind: Literal["untag"] = "untag"
    names: Names = need("switches")


@statement
class Verify(Step):
    """Open points are verified to be open, by eye or by test."""

    kind: Literal["verify"] = "verify"
    names: Names = need("switches")


@statement
class Block(Step):
    """Reclosing is blocked on sources or breakers."""

    kind: Literal["block"] = "block"
    names: Names = need("sources or breakers")


@statement
class Unblock(Step):
    """Reclosing is put back."""

    kind: Literal["unblock"] = "unblock"
    names: Names = need("sources or breakers")


@statement
class Clearance(Step):
    """The clearance (permit) is requested, received or released."""

    kind: Literal["clearance"] = "clearance"
    name: Name | None = doc("the line")
    state: Word = need("requested, received, released")
    by: Name | None = doc("the person or crew that holds it")


@statement
class Inspect(Step):
    """Equipment is looked over before use."""

    kind: Literal["inspect"] = "inspect"
    names: Names = need("equipment")


@statement
class Prove(Step):
    """A detector is proven, on a tester or on a part known to be live."""

    kind: Literal["prove"] = "prove"
    name: Name = need("detector")
    on: Name | None = doc("tester")
    on_live: Point | None = doc("live part")


@statement
class Test(Step):
    """Points are tested for voltage; the step is passed only if they are found dead, unless it says `finding live`."""

    kind: Literal["test"] = "test"
    points: tuple[Word, ...] = need("points: a structure and its conductors")
    with_: Name | None = doc("detector", clause="with")
    improvised: bool = flag("without a detector: by ear, with pliers, by a touch; proves nothing")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")
    result: Word | None = doc("dead or live")


@statement
class Clean(Step):
    """Points are brushed to bright metal; good until the clamp goes on."""

    kind: Literal["clean"] = "clean"
    points: tuple[Word, ...] = need("points")


@statement
class Set(Step):
    """Ground rods are driven, at a structure, at a distance from it, to a depth."""

    kind: Literal["set"] = "set"
    names: Names = need("rods")
    at: Name | None = doc("structure")
    from_pole: Amount | None = doc("distance from the structure", dimension="length")
    deep: Amount | None = doc("depth in contact with the soil", dimension="length")


@statement
class Barricade(Step):
    """People are kept away from rods, vehicles or structures."""

    kind: Literal["barricade"] = "barricade"
    names: Names = need("what is barricaded")
    distance: Amount | None = doc("how far off", dimension="length")


@statement
class Unbarricade(Step):
    """Barricades come down."""

    kind: Literal["unbarricade"] = "unbarricade"
    names: Names = need("what was barricaded")


@statement
class Mount(Step):
    """A cluster bar is put on a structure, at a height relative to feet, work or a conductor."""

    kind: Literal["mount"] = "mount"
    name: Name = need("bar")
    at: Name | None = doc("structure")
    height: Word | None = doc("below or above, the feet or a conductor")
    height_of: Name | None = doc("conductor that the height is relative to")


@statement
class Dismount(Step):
    """Cluster bars come off."""

    kind: Literal["dismount"] = "dismount"
    names: Names = need("bars")


@statement
class Attach(Step):
    """A lead's ends go on, one after the other; the first to go on is where the lead begins."""

    kind: Literal["attach"] = "attach"
    name: Name = need("lead")
    ends: tuple[End, ...] = need("the point, or the two points, in order", clause="end", many=True)


@statement
class Detach(Step):
    """A lead's ends come off, one after the other."""

    kind: Literal["detach"] = "detach"
    name: Name = need("lead")
    ends: tuple[End, ...] = need("the point, or the two points, in order", clause="off", many=True)


@statement
class Bond(Step):
    """A vehicle, mat, guy or other metal is joined to a bar, a rod or a point."""

    kind: Literal["bond"] = "bond"
    first: Point = need("what is bonded")
    second: Point = need("what it is bonded to")
    with_: Name | None = doc("lead", clause="with")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class BondAcross(Step):
    """A lead bridges an opening in a conductor, so that its two sides stay one."""

    kind: Literal["bond_across"] = "bond_across"
    point: Point = need("the conductor at the structure where it is or will be open")
    with_: Name | None = doc("lead", clause="with")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Unbond(Step):
    """The bond of a thing comes off."""

    kind: Literal["unbond"] = "unbond"
    point: Point = need("what was bonded")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Enter(Step):
    """People take up a place of work; what they can reach is stated."""

    kind: Literal["enter"] = "enter"
    names: Names = need("people")
    at: Name | None = doc("structure")
    stand: Point | None = doc("what they stand on: the pole, steel, a vehicle, a mat, the ground")
    reaching: tuple[Word, ...] | None = doc("all that is in reach; `reaching nothing` says that nothing is")


@statement
class Move(Step):
    """People in place change where they stand or what they reach."""

    kind: Literal["move"] = "move"
    names: Names = need("people")
    at: Name | None = doc("structure")
    to: Name | None = doc("structure")
    stand: Point | None = doc("what they stand on")
    reaching: tuple[Word, ...] | None = doc("all that is in reach")


@statement
class Leave(Step):
    """People leave their place of work."""

    kind: Literal["leave"] = "leave"
    people: Names = row("people")
    all: bool = flag("`leave all`")


@statement
class Work(Step):
    """The task, for those who are in place."""

    kind: Literal["work"] = "work"
    text: Text = need("the task")
    by: Name | None = doc("who")
    at: Name | None = doc("structure")


@statement
class Cut(Step):
    """Conductors are cut or opened at a structure: the line becomes two sides."""

    kind: Literal["cut"] = "cut"
    points: tuple[Word, ...] = need("points")
    stays_open: bool = flag("`to stay open`: it is not joined again in this job")


@statement
class Join(Step):
    """Conductors are joined or spliced at a structure: two sides become one."""

    kind: Literal["join"] = "join"
    points: tuple[Word, ...] = need("points")


@statement
class Lift(Step):
    """A ground is taken off for a test, with what protects the worker meanwhile."""

    kind: Literal["lift"] = "lift"
    name: Name = need("lead")
    point: Point = need("the point that it comes off")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")
    protected: Text | None = doc("what protects the worker meanwhile")
    purpose: Text | None = doc("what for")


@statement
class Restore(Step):
    """A lifted ground is put back."""

    kind: Literal["restore"] = "restore"
    name: Name = need("lead")
    point: Point = need("the point that it goes back on")
    on_stick: Name | None = doc("stick")
    by_hand: bool = flag("by hand")


@statement
class Hold(Step):
    """A stop that the crew may not pass until the condition in words is met."""

    kind: Literal["hold"] = "hold"
    text: Text = need("the condition")


@statement
class Cover(Step):
    """Live neighbours are covered."""

    kind: Literal["cover"] = "cover"
    names: Names = need("neighbours")
    at: Name | None = doc("structure")


@statement
class Uncover(Step):
    """Covers come off."""

    kind: Literal["uncover"] = "uncover"
    names: Names = need("neighbours")


@statement
class Gloves(Step):
    """Rubber gloves go on or come off."""

    kind: Literal["gloves"] = "gloves"
    state: Word = need("on or off")
    names: Names = need("people")


@statement
class Wait(Step):
    """A wait, such as for capacitors to discharge."""

    kind: Literal["wait"] = "wait"
    amount: Amount = need("time", dimension="time")


@statement
class Do(Step):
    """A routine's steps with its names filled in."""

    kind: Literal["do"] = "do"
    ident: Name = need("routine")
    names: Names = row("what its parameters stand for, in order")


@statement
class Repeat(Step):
    """A routine again, elsewhere."""

    kind: Literal["repeat"] = "repeat"
    ident: Name = need("routine")
    names: Names = row("what its parameters stand for, in order")


@statement
class Undo(Step):
    """A routine's attach steps reversed: the last end to go on is the first to come off, by the same means."""

    kind: Literal["undo"] = "undo"
    ident: Name = need("routine")
    at: Name | None = doc("one of the names that it was done with")


@statement
class Note(Step):
    """Words for the crew; nothing changes."""

    kind: Literal["note"] = "note"
    text: Text = need("the words")


@statement
class Downed(Step):
    """Conductors are found broken or down at a structure: two sides from here on, each of which may be live."""

    kind: Literal["downed"] = "downed"
    points: tuple[Word, ...] = need("points")


@statement
class StringIn(Step):
    """New conductors are pulled in at a structure: whatever they touch along the way, they bring there."""

    kind: Literal["string"] = "string"
    points: tuple[Word, ...] = need("points: the structure from which they are handled, and the conductors")


@statement
class Park(Step):
    """Vehicles, tensioners, trailers take their place at a structure."""

    kind: Literal["park"] = "park"
    names: Names = need("vehicles")
    at: Name | None = doc("structure")


@statement
class Certify(Step):
    """Somebody signs that grounds are on, or that the conductors are dead; what was signed must have been done."""

    kind: Literal["certify"] = "certify"
    certified: Word = need("grounds, dead", clause="certified")
    at: Name | None = doc("structure")
    by: Name | None = doc("who signs")


@statement
class Shock(Step):
    """People report a shock, however slight."""

    kind: Literal["shock"] = "shock"
    names: Names = need("people")


@statement
class Replan(Step):
    """The job changes from what the crew was briefed on."""

    kind: Literal["replan"] = "replan"
    text: Text = need("what is different")


AnyStep = (
    Brief | Open | Close | Tag | Untag | Verify | Block | Unblock | Clearance | Inspect | Prove | Test | Clean
    | Set | Barricade | Unbarricade
    | Mount | Dismount | Attach | Detach | Bond | BondAcross | Unbond | Enter | Move | Leave | Work | Cut | Join | Lift
    | Restore | Hold | Cover
    | Uncover | Gloves | Wait | Do | Repeat | Undo | Note
    | Downed | StringIn | Park | Certify | Shock | Replan
)  # fmt: skip


@statement
class Routine(Statement):
    """Steps with parameters, to be done at several places."""

    group = "blocks"

    kind: Literal["routine"] = "routine"
    ident: Name = need("its name")
    params: tuple[Param, ...] = doc("parameters by kind", clause="param", many=True)
    body: tuple[Annotated[AnyStep, ByKind()], ...] = doc("its steps: the indented lines below", many=True)


AnyStatement = (
    Plan | Document | Method | Caution | Emergency | Follows | Use | Given | NoSource | NoParallel | NoNeighbour
    | Waive | NoGrounds
    | Line | SourceDecl | Parallel | Neighbour | Switch | Structure | Soil | Surface | Measured | Rod | Bar | Lead
    | Detector | Tester | Stick | Mat | Vehicle
    | Crew | Voltage | Frequency | Phases | Neutral | Shield | Wires | Route | Spacing | Place
    | Altitude | Approach | Current | Fault | Power | Impedance
    | Clears | Relay | Reclosing | Through | Routine | Stage | AnyStep
)  # fmt: skip


@dataclass(frozen=True)
class PlanText(Part):
    """A plan as written: its statements in order, and the comment lines after the last.

    ``tradition`` is ``earth`` where the plan is written in the earthing tradition's words, so that it is written back
    in them.
    """

    statements: tuple[Annotated[AnyStatement, ByKind()], ...]
    after: tuple[str, ...] = ()
    tradition: Literal["ground", "earth"] = "ground"


@cache
def statement_classes() -> dict[str, type[Statement]]:
    """Every kind of statement by the name it has in the grammar."""
    found: dict[str, type[Statement]] = {}
    waiting: list[type[Statement]] = [Statement]
    while waiting:
        cls = waiting.pop()
        waiting.extend(cls.__subclasses__())
        kind = getattr(cls, "kind", None)
        if isinstance(kind, str):
            found[kind] = cls
    return dict(sorted(found.items()))


@cache
def clause_fields(cls: type[Statement]) -> dict[str, Field[Any]]:
    """The fields of a statement by the grammar's clause that fills each."""
    return {
        f.metadata.get("clause") or f.name: f
        for f in fields(cls)
        if f.name not in ("kind", "number", "comment", "before")
    }

"""Statements that say more of the line, source, parallel circuit or live neighbour above them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from groundlint.language.nodes import Amount, Name, Size, Word
from groundlint.language.statements.base import Names, Part, Statement, doc, flag, need, row, statement


class Property(Statement):
    """Says more of the line, source, parallel circuit or live neighbour above."""

    group = "properties"
    owners: ClassVar[tuple[str, ...]] = ("line",)
    """The kinds of statement above that it may say more of."""


@statement
class Voltage(Property):
    """Nominal voltage between phases, also on a line of one phase; `voltage 7.2 kV to ground` says the same of a
    12.47 kV system."""

    owners = ("line", "source", "parallel")
    kind: Literal["voltage"] = "voltage"
    amount: Amount | None = doc("voltage", dimension="voltage")
    to_ground: Amount | None = doc("that of one phase to ground, in its place", dimension="voltage")


@statement
class Frequency(Property):
    """Power frequency; 60 Hz where not said is *not* assumed for clearing times given in cycles."""

    kind: Literal["frequency"] = "frequency"
    amount: Amount = need("frequency", dimension="frequency")


@statement
class Phases(Property):
    """The phase conductors, at most three, in order."""

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
    """The shield wires, one or two, or that there is none. Those `on insulators` have gaps across these;
    others are taken to be clamped to the steel of each steel structure."""

    kind: Literal["shield"] = "shield"
    names: Names = row("their names; absent in `no shield wire`")
    on_insulators: bool = flag("`on insulators`: steel is not joined to them")


@dataclass(frozen=True)
class Wire(Part):
    """Conductors of one size and kind. Of a bundle of so many subconductors, `apart` from one to the next, size and
    data are each subconductor's: outer diameter, resistance to alternating current at a temperature, and GMR."""

    names: Names
    size: Size | None = None
    metal: Word | None = None
    stranding: Word | None = None
    form: Word | None = None
    bundle: Word | None = None
    diameter: Amount | None = None
    resistance: Amount | None = None
    at: Amount | None = None
    gmr: Amount | None = None
    apart: Amount | None = None


@statement
class Wires(Property):
    """Sizes of the line's conductors. `2 x 954 kcmil acsr 18 in apart` is a bundle of two, joined all along by its
    spacers; three hang in a triangle, four in a square. A conductor that is in no table has its metal, diameter,
    resistance at a temperature and geometric mean radius stated, and what is stated goes before the tables. A size that
    comes in several strandings is taken to be any of them where its stranding, such as `26/7` or `12 strands`, is not
    stated. A shield wire of steel is `3/8 in steel` or `50 mm2 steel`, one of aluminum-clad steel is
    `7 no 8 aluminum-clad steel`; since both change with the current, they are taken to be anything between little
    current and much."""

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
    """A named arrangement of the conductors. Where none of those is the line's own, `place` says where each hangs."""

    owners = ("line", "parallel")
    kind: Literal["spacing"] = "spacing"
    ident: Name = need("its name; a name that there is not is answered with all that there are")


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

    owners = ("parallel",)
    kind: Literal["current"] = "current"
    amount: Amount = need("current", dimension="current")


@statement
class Residual(Property):
    """What the load currents of a parallel circuit's three phases come to together, which returns through the earth;
    0 A where they are balanced."""

    owners = ("parallel",)
    kind: Literal["residual"] = "residual"
    amount: Amount = need("current", dimension="current")


@statement
class Fault(Property):
    """Fault current that the source can drive at the place where it feeds in; of a parallel circuit, the most that a
    fault to ground on it draws along the line. On a line of one phase the current to ground is enough; on one of two,
    as of a railway, that between the two may stand for the three-phase current."""

    owners = ("source", "parallel")
    kind: Literal["fault"] = "fault"
    three_phase: Amount | None = doc("three-phase fault current, rms symmetrical", dimension="current")
    to_ground: Amount | None = doc("single line to ground fault current", dimension="current")
    x_over_r: Name | None = doc("X/R of the source")
    between_phases: Amount | None = doc(
        "fault current between two phases, in place of the three-phase one, of which it is 0.866", dimension="current"
    )


@statement
class Power(Property):
    """Three-phase fault level of the source."""

    owners = ("source",)
    kind: Literal["power"] = "power"
    amount: Amount = need("fault level", dimension="power")
    x_over_r: Name | None = doc("X/R of the source")


@statement
class Impedance(Property):
    """Sequence impedances of the source."""

    owners = ("source",)
    kind: Literal["impedance"] = "impedance"
    positive: tuple[Amount, ...] = row("positive sequence resistance and reactance", dimension="resistance")
    zero: tuple[Amount, ...] = row("zero sequence resistance and reactance", dimension="resistance")


@statement
class Clears(Property):
    """Clearing time of the protection of the source, or of the parallel circuit for a fault on that, or that it never
    trips. Of a fuse, `clears in 12 cycles at 900 A or more`: the time of its total clearing curve and the least current
    at which it holds; below that nothing is taken to clear."""

    owners = ("source", "parallel")
    kind: Literal["clears"] = "clears"
    amount: Amount | None = doc("time", dimension="time")
    never: bool = flag("nothing trips")
    least: Amount | None = doc("least current at which it clears in that time, as of a fuse", dimension="current")


@statement
class Relay(Property):
    """The relay and breaker that clear the source."""

    owners = ("source",)
    kind: Literal["relay"] = "relay"
    ident: Name = need(
        "curve: `iec-standard-inverse`, `ieee-very-inverse`, ...; `definite-time` has the time in seconds as its dial"
    )
    pickup: Amount | None = doc("pickup current on the primary side", dimension="current")
    dial: Name | None = doc("time dial or time multiplier")
    breaker: Amount | None = doc("breaker interrupting time", dimension="time")


@statement
class Reclosing(Property):
    """Whether the reclosing of the source, or of the live neighbour, is on, off or blocked before the plan begins; off
    where it has none."""

    owners = ("source", "neighbour")
    kind: Literal["reclosing"] = "reclosing"
    state: Word = need("on, off, blocked")


@statement
class Grounding(Property):
    """How the source's system is grounded, which settles what a fault of one phase to ground draws."""

    owners = ("source",)
    kind: Literal["grounding"] = "grounding"
    system: Word = need("solid, impedance, resonant (by a coil tuned to the line), ungrounded")


@statement
class Through(Property):
    """All the open points between the source and the line; needed where there are two or more."""

    owners = ("source",)
    kind: Literal["through"] = "through"
    names: Names = need("switches")


AnyProperty = (
    Voltage | Frequency | Phases | Neutral | Shield | Wires | Route | Spacing | Place | Altitude | Approach | Current
    | Residual | Fault | Power | Impedance | Clears | Relay | Reclosing | Grounding | Through
)  # fmt: skip

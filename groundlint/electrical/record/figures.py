"""Results as figures: each one quantity of one thing, with its limit, its equation and what would narrow it."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from groundlint.electrical.physics.body import CRITERIA, limit
from groundlint.electrical.physics.leads import LeadSize
from groundlint.electrical.study.results import Clearing, Exposure, LeadDuty, RodResult, body_limit, over
from groundlint.plan.models import ParallelCircuit, Person, PointRef, SupplySource
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure, combine, ends, gaps_of

if TYPE_CHECKING:
    import pint

BODY_CRITERIA: Final = ("dalziel-50kg", "dalziel-70kg", "iec-c1", "osha-fibrillation")
"""Limits that a body's current is held against while a fault lasts, each through its own body."""

VOLTAGE_CRITERION: Final = "doe-voltage"
STEADY_CRITERIA: Final = ("let-go-men", "let-go-women", "osha-reaction")
"""Limits that an induced current, which lasts, is held against."""


def share_of(value: Measure | Unknown, whole: Measure | Unknown) -> Measure | Unknown:
    """One quantity over another; infinite where the other is nothing, one over infinity where it has no end."""
    if isinstance(value, Unknown) or isinstance(whole, Unknown):
        return Unknown(gaps_of(value, whole))
    found = combine("/", value, whole)
    if found is not None:
        return found
    (low, high), (least, most) = ends(value), ends(whole)
    top = high / least if least > 0 else math.inf
    bottom = low / most if most > 0 else math.inf
    gaps = gaps_of(value, whole)
    return bottom if bottom == top or not gaps else Bounds(min(bottom, top), max(bottom, top), gaps)


class Stretch(NamedTuple):
    """A worker's exposure over a run of positions, first to last, at which nothing of it changes."""

    exposure: Exposure
    last: int

    @property
    def first(self) -> int:
        """The first position."""
        return self.exposure.at

    def body_current(self, criterion: str) -> Measure | Unknown:
        """Current in A across the worst pair through the body of a criterion."""
        return over(self.exposure.voltage, lambda volts: volts / CRITERIA[criterion].body)

    def load(self, criterion: str) -> Measure | Unknown:
        """Current through its body, or voltage, over the limit of a criterion, at the worst of the ways of returning
        for the time that each lasts."""
        row = CRITERIA[criterion]
        return over(
            self.exposure.needed(criterion), lambda need: need / row.body if row.quantity == "current" else need
        )

    def limit(self, criterion: str) -> Measure | Unknown:
        """Limit of a criterion for the time it lasts: A, or V for a voltage criterion."""
        return body_limit(criterion, self.exposure.time)

    @property
    def loading(self) -> Measure | Unknown:
        """Current through 1000 ohm over the limit for 50 kg, by which the worst step is known."""
        return self.load("dalziel-50kg")


class Device(NamedTuple):
    """How a source's device sees the grounds, worst over the steps of work: `clearing` is that at the worst step,
    `bolted` the current in A without the grounds' impedance, `slower` by how many s it clears later for it (infinite
    where it then never trips). `relayed` says that a relay decides the time, and not a time as stated."""

    clearing: Clearing
    bolted: float
    slower: Measure | Unknown
    relayed: bool


class Induced(NamedTuple):
    """Steady current in A through a worker by a circuit beside the line, over a run of positions."""

    person: Person
    circuit: ParallelCircuit
    first: int
    last: int
    current: Measure | Unknown


class Figure(NamedTuple):
    """One result: a quantity of a thing while a source returns, in SI (`unit`), after the step before position `at`
    up to that before `last`; the limit it is held against, if any, and by which `equation` and criterion."""

    kind: str
    thing: str
    source: str
    at: int
    last: int
    quantity: str
    value: Measure | Unknown
    unit: str
    equation: str
    way: str = ""
    between: str = ""
    limit: Measure | Unknown | None = None
    criterion: str = ""
    basis: str = ""
    loading: Measure | Unknown | None = None

    @property
    def margin(self) -> Measure | Unknown | None:
        """Limit over value, by the `loading` where value and limit move together; None without a limit."""
        if self.limit is None:
            return None
        if self.loading is not None:
            return share_of(1.0, self.loading)
        return share_of(self.limit, self.value)

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """What is missing, or what would narrow the bounds."""
        return gaps_of(self.value, self.limit)

    def quantities(self) -> tuple[pint.Quantity[float], pint.Quantity[float]] | Unknown:
        """Low and high end as quantities of the package's one pint registry."""
        if isinstance(self.value, Unknown):
            return self.value
        from groundlint.values.registry import registry

        made = registry().Quantity
        low, high = ends(self.value)
        return made(low, PINT_UNITS[self.unit]), made(high, PINT_UNITS[self.unit])


PINT_UNITS: Final = {
    "A": "ampere",
    "V": "volt",
    "s": "second",
    "A2 s": "ampere ** 2 * second",
    "C": "degree_Celsius",
    "m": "metre",
    "m2": "metre ** 2",
    "ohm": "ohm",
    "": "dimensionless",
}
"""Units of figures as pint writes them."""


# ------------------------------------------------------------------ one flat list
def all_figures(
    devices: Sequence[Device],
    leads: Sequence[LeadDuty],
    rods: Sequence[RodResult],
    stretches: Sequence[Stretch],
    induced: Sequence[Induced],
    relayed: Collection[SupplySource],
) -> Iterator[Figure]:
    """Results of every kind as figures, in the order of the record; `relayed` are the sources whose time a relay's
    curve gives."""

    def timing(source: SupplySource | ParallelCircuit) -> str:
        return "clearing-time" if source in relayed else "stated-time"

    for device in devices:
        yield from _of_device(device, timing(device.clearing.source))
    for duty in leads:
        yield from _of_lead(duty, timing(duty.source))
    for rod in rods:
        yield from _of_rod(rod, timing(rod.source))
    for stretch in stretches:
        yield from _of_worker(stretch, timing(stretch.exposure.source))
    for one in induced:
        for criterion in STEADY_CRITERIA:
            yield Figure(
                "induction",
                one.person.name,
                one.circuit.name,
                one.first,
                one.last,
                "induced-current",
                one.current,
                "A",
                "induced-current",
                limit=steady_limit(criterion),
                criterion=criterion,
            )


def _maker(
    kind: str, thing: str, source: str, at: int, last: int, way: str, between: str = ""
) -> Callable[..., Figure]:
    def make(quantity: str, value: Measure | Unknown, unit: str, equation: str, **more: object) -> Figure:
        return Figure(kind, thing, source, at, last, quantity, value, unit, equation, way, between, **more)  # type: ignore[arg-type]

    return make


def _of_device(device: Device, timing: str) -> Iterator[Figure]:
    found = device.clearing
    make = _maker("device", found.source.name, found.source.name, found.at, found.at, found.way)
    yield make("least-fault", found.least, "A", "least-fault")
    if not math.isnan(device.bolted):
        yield make("bolted-fault", device.bolted, "A", "source-equivalent")
    yield make("fault-share", found.share, "", "least-fault")
    if device.relayed or not isinstance(found.multiple, Unknown):
        yield make("pickup-multiple", found.multiple, "", "pickup-multiple")
    yield make("clearing-time", found.time, "s", timing)
    if device.relayed:
        yield make("slower", device.slower, "s", "slower")


def _of_lead(duty: LeadDuty, timing: str) -> Iterator[Figure]:
    make = _maker("lead", duty.lead.name, duty.source.name, duty.at, duty.at, duty.way)
    yield make("fault-current", duty.current, "A", "fault-current")
    yield make("time", duty.time, "s", timing)
    yield make(
        "duty",
        duty.duty,
        "A",
        "decrement",
        limit=duty.rating,
        criterion="lead-rating",
        basis=duty.basis + (f"; margin least by {duty.apart}" if duty.apart else ""),
        loading=duty.loading,
    )
    yield make("first-peak", duty.peak, "A", "first-peak")
    yield make("heat", duty.i2t, "A2 s", "heat")
    yield make("loading", duty.loading, "", "loading", limit=1.0, basis=duty.basis)
    yield make("final-temperature", duty.temperature, "C", "final-temperature")
    enough = duty.enough
    yield make(
        "area-needed",
        enough.area if isinstance(enough, LeadSize) else enough,
        "m2",
        "lead-needed",
        basis=enough.designation if isinstance(enough, LeadSize) else "",
    )


def _of_rod(found: RodResult, timing: str) -> Iterator[Figure]:
    make = _maker("rod", found.rod.name, found.source.name, found.at, found.at, found.way)
    yield make("resistance", found.resistance, "ohm", "rod-resistance")
    yield make("current", found.current, "A", "fault-current")
    yield make("rise", found.rise, "V", "rod-rise")
    yield make("time", found.time, "s", timing)
    yield make("distance-to-keep", found.keep_away, "m", "distance-to-keep", criterion="dalziel-50kg")


def _of_worker(stretch: Stretch, timing: str) -> Iterator[Figure]:
    found = stretch.exposure
    make = _maker(
        "worker", found.person.name, found.source.name, found.at, stretch.last, found.way, between_words(found.pair)
    )
    yield make(
        "voltage",
        found.voltage,
        "V",
        "exposure",
        limit=stretch.limit(VOLTAGE_CRITERION),
        criterion=VOLTAGE_CRITERION,
        loading=stretch.load(VOLTAGE_CRITERION),
    )
    yield make("time", found.time, "s", timing)
    for criterion in BODY_CRITERIA:
        yield make(
            f"body-current-{CRITERIA[criterion].body:g}-ohm",
            stretch.body_current(criterion),
            "A",
            "body-current",
            limit=stretch.limit(criterion),
            criterion=criterion,
            basis=ended_by(found.time),
            loading=stretch.load(criterion),
        )


def steady_limit(criterion: str) -> Measure | Unknown:
    """Limit in A of a criterion for a current that lasts."""
    return limit(CRITERIA[criterion], math.inf)


def ended_by(time: Measure | Unknown) -> str:
    """What is said where a fault has no end, or may have none."""
    if isinstance(time, Unknown) or math.isfinite(ends(time)[1]):
        return ""
    row = CRITERIA["let-go-women"]
    return f"nothing ends it: held against let-go, {row.points[0][1] * 1000:g} mA ({row.source})"


def between_words(pair: tuple[PointRef, PointRef] | None) -> str:
    """The two things of a pair."""
    return f"{pair[0]} and {pair[1]}" if pair is not None else ""

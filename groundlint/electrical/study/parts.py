"""What a plan states of leads, rods, neutrals and sources, as low and high values in SI, and what it leaves open.

A value that no plan states comes from the register of assumptions, or from what the plan says was measured. A value
that this plan fails to state could be anything: a stand-in takes its place in the circuit, and a gap goes with it, for
as long as which nothing computed from the circuit is known.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.conductors import Conductor as Wire
from groundlint.electrical.physics.conductors import at_any_current, bundled, find_conductors, stated, strand_across
from groundlint.electrical.physics.earth import rod_resistance
from groundlint.electrical.physics.leads import LeadSize, find_lead, lead_resistance, loop_reactance
from groundlint.electrical.physics.protection import CURVES, Device, find_curve, relay_times
from groundlint.electrical.physics.soil_layers import Rod as SoilRod
from groundlint.electrical.physics.soil_layers import RodGroup, Soil, rods, uniform
from groundlint.electrical.physics.sources import Equivalent, fault_currents, from_fault_currents, from_power
from groundlint.electrical.physics.withstand import LEAD_METALS, decrement, final_temperature
from groundlint.electrical.study.assumptions import ASSUMPTIONS, Assumption
from groundlint.plan.models import Conductor, Lead, ParallelCircuit, Plan, Rod, Structure, SupplySource
from groundlint.text import Span
from groundlint.values import Gap, Unknown
from groundlint.words.quantities import rounded
from groundlint.world.records import RodSet

STAND_IN: Final = 1e3
"""Ohm: in the place of an impedance that the plan fails to state. No result with it is reported."""

Shares = tuple[tuple[str, float], ...]
"""Assumptions by name, with how much of a width each makes."""


class Between(NamedTuple):
    """An impedance in ohm: its least resistance and reactance, its largest, which may be reached in any combination;
    what makes the width of each; and what is to blame if it is not stated. Both parts are turned by `turn`, of
    magnitude 1, where not they but a magnitude is known."""

    low: complex
    high: complex
    resistance: Shares = ()
    reactance: Shares = ()
    gap: Gap | None = None
    turn: complex = 1.0

    @property
    def middle(self) -> complex:
        """The geometric mean of both parts."""
        return self.turn * complex(middle(self.low.real, self.high.real), middle(self.low.imag, self.high.imag))


def middle(low: float, high: float) -> float:
    """The geometric mean of two positive values, else the arithmetic one."""
    return low if low == high else math.sqrt(low * high) if low > 0 else (low + high) / 2


def anything(gap: Gap) -> Between:
    """An impedance of which nothing is known."""
    return Between(STAND_IN, STAND_IN, gap=gap)


@dataclass
class Register:
    """The assumptions that a calculation has used, with what the plan says was measured in their place."""

    measured: Mapping[str, float] = field(default_factory=dict)
    soil: tuple[float, ...] = ()
    used: dict[str, Assumption] = field(default_factory=dict)
    where: dict[str, Span] = field(default_factory=dict)
    """The statements of which an assumption says more, where it is not of the plan as a whole."""
    write: dict[str, str] = field(default_factory=dict)
    """What to write in the place of an assumption, where it is not the same in every plan."""

    def gap(self, name: str) -> Gap:
        """The gap to report where a result depends on an assumption."""
        gap = ASSUMPTIONS[name].gap
        return replace(gap, where=self.where.get(name), write=self.write.get(name, gap.write))

    def bounds(self, name: str, least: float = -math.inf) -> tuple[float, float]:
        """Low and high value of an assumption, which is no less than `least` here; both the measured one where there
        is one."""
        if name in self.measured:
            return self.measured[name], self.measured[name]
        assumption = ASSUMPTIONS[name].in_soil(self.soil[::2])  # its layers, without the depth between them
        assumption = assumption.beside(self.measured)
        assumption = assumption._replace(low=max(assumption.low, least))
        self.used[name] = assumption
        return assumption.bounds

    def resistance(self, name: str) -> Between:
        """A resistance taken from the register."""
        low, high = self.bounds(name)
        return Between(low, high, ((name, high - low),))

    def impedance(self, name: str, share: str) -> Between:
        """An impedance taken from the register, of which a share is reactance.

        What is known by its magnitude alone lies on an arc, which a narrow box holds that is turned to its middle; what
        is known by neither lies in a box of resistance and reactance, which holds every such arc with its box.
        """
        (low, high), (least, most) = self.bounds(name), self.bounds(share)
        first, last = math.asin(least), math.asin(most)
        half, width = (last - first) / 2, high - low
        inner, across = math.cos(half), math.sin(half)
        if low == high or least == most:
            return Between(
                complex(low * inner, -high * across),
                complex(high, high * across),
                ((name, width), (share, high * (1 - inner))),
                ((share, 2 * high * across),),
                turn=cmath.rect(1.0, (first + last) / 2),
            )
        corners = [cmath.rect(1.0, (first + last) / 2) * complex(1.0, side) for side in (-across, across)]
        most_of = complex(max(one.real for one in corners), max(one.imag for one in corners)) * high
        least_of = complex(math.cos(last), least) * low
        return Between(
            least_of,
            most_of,
            ((name, width), (share, most_of.real - high)),
            ((name, width * most), (share, high * (most - least))),
        )


# ------------------------------------------------------------------ leads
def size_of(lead: Lead) -> LeadSize | Unknown:
    """Size and metal of a lead, from what the plan states of it."""
    if lead.size is None:
        return Unknown.of(f"the size of lead {lead}", f"lead {lead} 2/0 copper", lead.span)
    if lead.metal is None:
        return Unknown.of(f"the metal of lead {lead}", f"lead {lead} {lead.size} copper", lead.span)
    found = find_lead(f"{lead.size} {lead.metal}")
    return (
        Unknown.of(f"the size of lead {lead}", f"lead {lead} 2/0 copper", lead.span)
        if isinstance(found, Unknown)
        else found
    )


def length_of(lead: Lead) -> float | Unknown:
    """Length of a lead in m."""
    if lead.length is None:
        return Unknown.of(f"the length of lead {lead}", f"lead {lead} 25 ft", lead.span)
    return lead.length


def lead_between(lead: Lead, frequency: float, register: Register, heat: float = 0.0) -> Between:
    """Impedance of a lead with its two contacts, before a fault and with its `heat`, A2 s, in it; the loop it makes
    with a worker gives its reactance."""
    size, length = size_of(lead), length_of(lead)
    if isinstance(size, Unknown):
        return anything(size.gaps[0])
    if isinstance(length, Unknown):
        return anything(length.gaps[0])
    contact = register.bounds("clamp-contact-resistance")
    warm = register.bounds("lead-temperature")
    lay = register.bounds("rope-lay-factor")
    heating = register.bounds("lead-heating")
    apart = register.bounds("lead-loop-distance")

    def cable(which: int, laid: int, heated: int = 1) -> float:
        rise = math.sqrt(heat * heating[heated])
        hot = float(final_temperature(rise, 1.0, size.area, LEAD_METALS[size.metal], warm[which])[0])
        return float(lead_resistance(size.area, length, hot, size.metal, lay[laid]))

    x = [float(loop_reactance(length, distance, size.diameter / 2, frequency)) for distance in apart]
    resistance = (
        ("clamp-contact-resistance", 2 * (contact[1] - contact[0])),
        ("lead-temperature", cable(1, 1) - cable(0, 1)),
        ("rope-lay-factor", cable(1, 1) - cable(1, 0)),
        ("lead-heating", cable(1, 1) - cable(1, 1, 0)),
    )
    return Between(
        complex(cable(0, 0, 0) + 2 * contact[0], x[0]),
        complex(cable(1, 1) + 2 * contact[1], x[1]),
        resistance,
        (("lead-loop-distance", x[1] - x[0]),),
    )


# ------------------------------------------------------------------ earth
def soil_of(plan: Plan) -> Soil | Unknown:
    """The soil that the plan states, one layer or two."""
    if not plan.soil:
        return Unknown.of("the soil's resistivity", "soil 120 ohm m", plan.start)
    if len(plan.soil) == 3:
        return Soil(plan.soil[0], plan.soil[2], plan.soil[1])
    return uniform(plan.soil[0])


def rod_resistance_of(rod: Rod, found: RodSet | None, soil: Soil | Unknown) -> float | Unknown:
    """Resistance in ohm of a rod as it is set; `Unknown` where soil, depth or diameter is not stated.

    A depth that is not stated is not taken to be the rod's length.
    """
    if isinstance(soil, Unknown):
        return soil
    if rod.diameter is None:
        return Unknown.of(f"the diameter of rod {rod}", f"rod {rod} 6 ft x 5/8 in", rod.span)
    if found is None or found.depth is None:
        where = f" at {found.structure}" if found is not None and found.structure is not None else ""
        return Unknown.of(f"the depth of rod {rod}", f"set {rod}{where}, 16 ft from the pole, 6 ft deep", rod.span)
    if soil.depth is None:
        return float(rod_resistance(soil.upper, found.depth, rod.diameter))
    group = rod_in_layers(soil, found.depth, rod.diameter)
    return group if isinstance(group, Unknown) else group.resistance


@lru_cache(maxsize=256)  # asked for at every step and bound
def rod_in_layers(soil: Soil, depth: float, diameter: float) -> RodGroup | Unknown:
    """One rod of that depth and diameter in m, solved in soil of two layers."""
    return rods((SoilRod(0.0, 0.0, depth, diameter),), soil)


def pole_between(structure: Structure, register: Register) -> Between:
    """From the surface of a pole at the work to earth."""
    if structure.material == "wood":
        return register.resistance("wood-pole-resistance")
    if structure.material == "concrete":
        return register.resistance("concrete-structure-resistance")
    gap = Gap(f"the material of structure {structure}", f"structure {structure} wood pole", structure.span)
    return anything(gap)


def strap_between(structure: Structure, register: Register) -> Between:
    """From a bar to the surface of a pole of wood or concrete, on which a wood pole that was measured has no say."""
    strap = register.resistance("bar-to-pole-resistance")
    most = ASSUMPTIONS["bar-to-pole-resistance"].high
    if structure.material == "wood" or strap.high.real <= most:
        return strap
    return Between(strap.low, most, (("bar-to-pole-resistance", most - strap.low.real),))


def stated_or(value: float | None, name: str, register: Register) -> Between:
    """A resistance that the plan states, or that of the register."""
    return Between(value, value) if value is not None and value > 0 else register.resistance(name)


# ------------------------------------------------------------------ the line
def wires_of(conductor: Conductor) -> tuple[Wire, ...] | Unknown:
    """The conductor's data, those of the one that stands in the place of its bundle: one for each stranding that it may
    have, the usual one first."""
    every = _subconductors(conductor)
    if isinstance(every, Unknown) or conductor.bundle == 1:
        return every
    many, apart = f"the distance between the subconductors of {conductor}", conductor.apart
    if apart is None or apart <= max(one.diameter for one in every):
        fact = many if apart is None else f"{many}, which would touch"
        size = conductor.size or f"{rounded(every[0].diameter * 1000)} mm across"
        write = f"wires {conductor} {conductor.bundle} x {size} {conductor.metal} 18 in apart"
        return Unknown.of(fact, write, conductor.span)
    return tuple(bundled(one, conductor.bundle, apart) for one in every)


def _subconductors(conductor: Conductor) -> tuple[Wire, ...] | Unknown:
    """What the plan states of a wire, and what it does not from the tables, by its size and kind."""
    if conductor.metal is None or (conductor.size is None and conductor.diameter is None):
        write = f"wires {conductor} 336.4 kcmil acsr"
        return Unknown.of(f"the size and kind of conductor {conductor}", write, conductor.span)
    tabled: tuple[Wire, ...] = ()
    if conductor.size is not None and conductor.form != "bus":  # the tables are of stranded and solid wire
        lay = conductor.stranding or ("solid" if conductor.form == "solid" else "")
        found = find_conductors(f"{conductor.size} {conductor.metal} {lay}")
        tabled = () if isinstance(found, Unknown) else found
        if conductor.form == "stranded":
            tabled = tuple(one for one in tabled if one.stranding != "solid")
    elif conductor.diameter is not None and (strand := strand_across(conductor.metal, conductor.diameter)) is not None:
        tabled = (strand,)
    tabled = tuple(made for one in tabled for made in at_any_current(one))
    if (other := _otherwise(conductor, tabled)) is not None:
        return other
    said = (conductor.diameter, conductor.resistance, conductor.resistance_at, conductor.gmr)
    made = (stated(one, conductor.size or "", conductor.metal, *said) for one in tabled or (None,))
    wires = tuple(dict.fromkeys(one for one in made if one is not None))
    if not wires:
        data = "0.1288 ohm/mi at 50 C gmr 0.0375 ft"
        write = f"wires {conductor} 1.108 in across {conductor.metal} {data}"
        if conductor.size is not None:
            write = f"wires {conductor} {conductor.size} {conductor.metal} 1.108 in across {data}"
        return Unknown.of(f"diameter, resistance and GMR of conductor {conductor}", write, conductor.span)
    return wires


OTHERWISE: Final = {"diameter": 0.1, "resistance": 0.1, "gmr": 0.25}
"""Share by which what a plan states of a wire may differ from the tables' for its size: makers' data differ by some
percents, the GMR of a single layer on steel by more, since it changes with the current (common practice, no source)."""


def _otherwise(conductor: Conductor, tabled: tuple[Wire, ...]) -> Unknown | None:
    """What the plan states of a wire that cannot be of the size that it states, if so."""
    if not tabled:
        return None
    at = conductor.resistance_at if conductor.resistance_at is not None else 0.0
    by_table = {
        "diameter": [one.diameter for one in tabled],
        "resistance": [float(one.resistance(at)) for one in tabled],
        "gmr": [one.gmr for one in tabled],
    }
    for name, known in by_table.items():
        value = getattr(conductor, name)
        if value is None:
            continue
        more = 1 + OTHERWISE[name]
        if not min(known) / more <= value <= max(known) * more:
            words = {"gmr": "GMR"}.get(name, name)
            fact = f"which holds of conductor {conductor}: its {words} as stated, or that of {tabled[0].designation}"
            return Unknown.of(fact, "", conductor.span)
    return None


def frequency_of(plan: Plan) -> float | Unknown:
    """Frequency of the line in Hz."""
    line = plan.line
    if line is None or line.frequency is None:
        where = line.span if line is not None else plan.start
        return Unknown.of("the line's frequency", "frequency 60 Hz", where)
    return line.frequency


# ------------------------------------------------------------------ sources
def equivalent_of(plan: Plan, source: SupplySource) -> Equivalent | Unknown:
    """Thevenin equivalent of a source where it comes in: from fault currents, from power, or from its impedances.

    A line of one phase takes of it only the loop to ground, 2 Z1 + Z0. Where its current to ground alone is stated,
    both are a third of that loop.
    """
    line = plan.line
    if line is None or line.voltage is None:
        return Unknown.of("the line's voltage", "voltage 12.47 kV", line.span if line is not None else plan.start)
    volts = line.voltage
    if source.positive is not None:
        zero: complex | Unknown | None
        zero = complex(*source.zero) if source.zero is not None else Unknown((source.ground_fault_gap(),))
        z1 = complex(*source.positive)
        return Equivalent(volts / 3**0.5, z1, z1, zero) if abs(z1) > 0 else Unknown((plan.fault_gap(source),))
    most = source.three_phase
    if most is None and source.power is None and line.one_phase:
        most = source.to_ground
    if most is not None:
        if source.x_over_r is None:
            return _ratio_gap(source)
        found = from_fault_currents(volts, most, source.x_over_r, source.to_ground)
    elif source.power is not None:
        if source.x_over_r is None:
            return _ratio_gap(source)
        found = from_power(volts, source.power, source.x_over_r)
        if isinstance(found, Equivalent) and source.to_ground is not None:
            found = from_fault_currents(volts, source.power / (3**0.5 * volts), source.x_over_r, source.to_ground)
    else:
        return Unknown((plan.fault_gap(source),))
    if isinstance(found, Equivalent) and isinstance(found.z0, Unknown):
        return Unknown((source.ground_fault_gap(),))
    return found


def _ratio_gap(source: SupplySource) -> Unknown:
    return Unknown.of(f"X/R of source {source}", "fault 6.8 kA three-phase, x/r 9", source.span)


class Protection(NamedTuple):
    """What ends a fault from a source: a stated time in s for any fault, a relay with its breaker, or nothing."""

    fixed: float | None
    device: Device | None
    never: bool = False


def protection_of(plan: Plan, source: SupplySource) -> Protection | Unknown:
    """How faults from a source are cleared, as far as the plan says."""
    if source.never_clears:
        return Protection(None, None, True)
    frequency = frequency_of(plan)
    fixed = source.clearing
    if source.clearing_cycles is not None:
        if isinstance(frequency, Unknown):
            return frequency
        fixed = source.clearing_cycles / frequency
    if fixed is not None:
        if source.clears_from is not None:  # nothing is taken to clear below the current that a fuse is stated for
            return Protection(fixed, Device(source.clears_from, 0.0, CURVES["definite-time"], fixed))
        return Protection(fixed, _device(source, frequency))
    if source.relay is None:
        return Unknown.of(f"the clearing time of source {source}", "clears in 24 cycles", source.span)
    curve = find_curve(source.relay)
    if isinstance(curve, Unknown):
        return Unknown.of(f"the curve of relay {source.relay}", f"relay {next(iter(CURVES))}", source.place("relay"))
    device = _device(source, frequency)
    if device is None:
        return Unknown.of(
            f"pickup, time dial and breaker time of source {source}",
            f"relay {curve.name} pickup 600 A dial 2 breaker 5 cycles",
            source.place("relay"),
        )
    return Protection(None, device)


def time_beside(plan: Plan, circuit: ParallelCircuit) -> float | Unknown:
    """Time in s in which a fault on a circuit beside the line is cleared, without end where nothing clears it."""
    if circuit.never_clears:
        return math.inf
    if circuit.clearing is not None:
        return circuit.clearing
    if circuit.clearing_cycles is None:
        return Unknown.of(f"the clearing time of a fault on circuit {circuit}", "clears in 24 cycles", circuit.span)
    frequency = frequency_of(plan)
    return frequency if isinstance(frequency, Unknown) else circuit.clearing_cycles / frequency


def _device(source: SupplySource, frequency: float | Unknown) -> Device | None:
    if source.relay is None or source.pickup is None or source.dial is None:
        return None
    curve = find_curve(source.relay)
    breaker = source.breaker
    if breaker is None and source.breaker_cycles is not None and not isinstance(frequency, Unknown):
        breaker = source.breaker_cycles / frequency
    if isinstance(curve, Unknown) or breaker is None or not (source.pickup > 0 and source.dial > 0):
        return None
    return Device(source.pickup, breaker, curve, source.dial)


FUSES: Final = 1e15
"""I2t in A2 s that takes any lead to its fusing point, at which its resistance is largest."""


def heat_of(plan: Plan, frequency: float, groups: Iterable[frozenset[SupplySource]] = ()) -> float:
    """The most I2t in A2 s, with the offset, that any source drives through a lead in the time in which it clears: by
    currents from twice a relay's pickup up to the largest bolted fault. Below that the leads carry little, and what
    nothing clears is held against what they carry for good. Of `groups` that drive at once, all that each drives into
    a bolted fault, for the longest of their times. `FUSES` where that is not known of one."""
    most = 0.0
    root: dict[SupplySource, float] = {}
    longest: dict[SupplySource, float] = {}
    for source in plan.of(SupplySource):
        assert isinstance(source, SupplySource)
        guard, equivalent = protection_of(plan, source), equivalent_of(plan, source)
        if not source.located or (not isinstance(guard, Unknown) and guard.never):
            continue  # of what may stand anywhere nothing is known, here as in all else
        if isinstance(guard, Unknown) or isinstance(equivalent, Unknown):
            return FUSES
        bolted = fault_currents(equivalent)
        if isinstance(bolted, Unknown):
            return FUSES
        amps = np.array([max(one for one in bolted if not isinstance(one, Unknown))])
        times = np.full(1, guard.fixed or 0.0)
        device = guard.device
        if device is not None:
            amps = np.geomspace(min(2 * device.pickup, float(amps[0])), float(amps[0]), 32)
            relayed = relay_times(device.curve, device.dial, amps / device.pickup)[0] + device.breaker_time
            times = np.maximum(np.where(np.isfinite(relayed), relayed, 0.0), times[0])
        offset = decrement(np.maximum(times, 1e-9), equivalent.x_over_r, frequency)
        most = max(most, float(((amps * offset) ** 2 * times).max()))
        root[source], longest[source] = float((amps * offset).max()), float(times.max())
    for group in groups:
        mine = [one for one in root if one in group]
        if mine:
            most = max(most, sum(root[one] for one in mine) ** 2 * max(longest[one] for one in mine))
    return most

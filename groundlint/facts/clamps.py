"""Facts of clamps and what they grip: whether they fit, their jaws, and the metals of the two."""

from __future__ import annotations

from groundlint.facts.answers import Answer, said, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Conductor, Lead
from groundlint.text import Span
from groundlint.values import Unknown
from groundlint.values.wire import MAGNETIC, METALS, STRANDED, WireSize, parse_wire

BODIES = ("bronze", "copper", "aluminium")
JAWS = ("smooth", "serrated", "self-cleaning")
FORMS = ("stranded", "solid", "bus")
HOT_LINE = ("hot-line", "hotline", "live-line")
"""How the type of a clamp begins that is made for taps on live lines, not for a fault: from memory."""


def _size(conductor: Conductor) -> Unknown:
    write = f"wires {conductor} 336.4 kcmil acsr"
    return Unknown.of(f"the size and metal of conductor {conductor}", write, conductor.span)


@fact(
    "metal",
    "conductor",
    returns=(*METALS, *MAGNETIC),
    timed=False,
    lines=where_stated("metal"),
    meaning="what it is made of",
)
def metal_of_conductor(_case: PlanTrace, _at: int, conductor: Conductor) -> str | Unknown:
    if conductor.metal is None:
        return _size(conductor)
    return conductor.metal.replace("aluminum", "aluminium").replace(" ", "-")


@fact(
    "form",
    "conductor",
    returns=FORMS,
    timed=False,
    lines=where_stated("form"),
    meaning="stranded, solid or bus, as stated; acsr, acss, aac and aaac are stranded",
)
def form(_case: PlanTrace, _at: int, conductor: Conductor) -> str | Unknown:
    if conductor.form is not None:
        return conductor.form
    if conductor.metal in (*STRANDED, "steel", "aluminum-clad steel") or conductor.stranding is not None:
        return "stranded"
    write = f"wires {conductor} 4/0 copper stranded"
    return Unknown.of(f"whether conductor {conductor} is wire or bus", write, conductor.span)


@fact(
    "jaws",
    "lead",
    returns=JAWS,
    timed=False,
    lines=where_stated("jaws"),
    meaning="what the jaws of its clamps are like",
)
def jaws(_case: PlanTrace, _at: int, lead: Lead) -> str | Unknown:
    write = f"lead {lead} clamps C-type jaws serrated"
    found: str | Unknown = said(lead.jaws, f"the jaws of the clamps of lead {lead}", write, lead.span)
    return found


@fact(
    "self-cleaning",
    "lead",
    timed=False,
    lines=where_stated("jaws"),
    meaning="the plan says that the jaws of its clamps clean the conductor that they are turned on",
)
def self_cleaning(_case: PlanTrace, _at: int, lead: Lead) -> bool:
    return lead.jaws == "self-cleaning"


@fact(
    "clamp-metal",
    "lead",
    returns=BODIES,
    timed=False,
    lines=where_stated("alloy"),
    meaning="what the bodies of its clamps are made of",
)
def clamp_metal(_case: PlanTrace, _at: int, lead: Lead) -> str | Unknown:
    if lead.alloy is None:
        write = f"lead {lead} clamps C-type bodies bronze"
        return Unknown.of(f"the metal of the clamps of lead {lead}", write, lead.span)
    return "aluminium" if lead.alloy == "aluminum" else lead.alloy


@fact(
    "hot-line-clamped",
    "lead",
    timed=False,
    lines=where_stated("clamps"),
    meaning="its clamps are hot-line clamps, made for taps on live lines",
)
def hot_line_clamped(_case: PlanTrace, _at: int, lead: Lead) -> Answer:
    if lead.clamps is None:
        return Unknown.of(f"the clamps of lead {lead}", f"lead {lead} clamps C-type", lead.span)
    return lead.clamps.lower().startswith(HOT_LINE)


def _range_and_size(case: PlanTrace, at: int, lead: Lead, conductor: Conductor) -> tuple[tuple[Span, str], ...]:
    return (
        *where_stated("fit_area" if lead.fit_area is not None else "fit_across")(case, at, lead),
        *where_stated("size")(case, at, conductor),
    )


def _fits(lead: Lead, conductor: Conductor) -> Answer:
    """By area where the range is in wire sizes; by the diameters of the tables where it is in lengths."""
    limits = lead.fit_area or lead.fit_across
    if limits is None:
        write = f"lead {lead} clamps C-type fit 2 AWG to 4/0"
        return Unknown.of(f"what conductors the clamps of lead {lead} fit", write, lead.span)
    if conductor.form == "bus" and (lead.fit_area is not None or conductor.diameter is None):
        return _across(conductor)  # a tube is wider than its metal tells
    ends = _areas(conductor) if lead.fit_area is not None else _diameters(conductor)
    if isinstance(ends, Unknown):
        return ends
    # a part in a thousand: a limit at the very size is stated in other units, or rounded
    low, high = limits[0] * 0.999, limits[1] * 1.001
    if low <= ends[0] and ends[1] <= high:
        return True
    return _strands(conductor) if ends[1] >= low and ends[0] <= high else False


@fact(
    "fitting",
    "lead",
    "conductor",
    timed=False,
    lines=_range_and_size,
    meaning="its size is within the range of conductors that the clamps are stated to fit",
)
def fitting(_case: PlanTrace, _at: int, lead: Lead, conductor: Conductor) -> Answer:
    return _fits(lead, conductor)


@fact(
    "misfitting",
    "lead",
    "conductor",
    timed=False,
    lines=_range_and_size,
    meaning="its size is outside of what its clamps are stated to fit; false where nothing is stated",
)
def misfitting(_case: PlanTrace, _at: int, lead: Lead, conductor: Conductor) -> bool:
    return misfits(lead, conductor)


def misfits(lead: Lead, conductor: Conductor) -> bool:
    """Whether a conductor's size is outside of what a lead's clamps are stated to fit."""
    return _fits(lead, conductor) is False


def _areas(conductor: Conductor) -> tuple[float, float] | Unknown:
    parsed = parse_wire(conductor.size) if conductor.size is not None else None
    return (parsed.area, parsed.area) if isinstance(parsed, WireSize) else _size(conductor)


def _diameters(conductor: Conductor) -> tuple[float, float] | Unknown:
    """The diameter in m that is stated, or the smallest and largest of the strandings that the tables list."""
    if conductor.diameter is not None:
        return conductor.diameter, conductor.diameter
    from groundlint.electrical.physics.conductors import find_conductors

    if conductor.size is None or conductor.metal is None:
        return _size(conductor)
    found = find_conductors(f"{conductor.size} {conductor.metal} {conductor.stranding or ''}")
    if isinstance(found, Unknown):
        return _across(conductor)
    return min(one.diameter for one in found), max(one.diameter for one in found)


def _across(conductor: Conductor) -> Unknown:
    fact_ = f"the diameter of conductor {conductor}"
    metal = conductor.metal or "acsr"
    words = f"{conductor.size} {metal} 1.108 in across" if conductor.size else f"1.108 in across {metal}"
    return Unknown.of(fact_, f"wires {conductor} {words}", conductor.span)


def _strands(conductor: Conductor) -> Unknown:
    fact_ = f"the diameter of conductor {conductor}, which its size and metal leave open"
    return Unknown.of(fact_, "lead G1 clamps C-type fit 2 AWG to 4/0", conductor.span)

"""Ten plans worked a second time by textbook equations, from their text alone: lead currents, touch and step voltage,
rise and clearing, within half a percent. Nothing of the study is taken for the expected values; every value that it
assumes is measured in the plans, or so large or small that it cannot matter.

Equations: symmetrical components (Fortescue); modified Carson (as in Kersting); Dwight's rod; IEEE 80-2000 Eq 29, 37
and 79; IEC 60255-151; the resistance of soft copper, 17.241 ohm mm2/km at 20 C.
"""

from __future__ import annotations

import cmath
import math

import pytest

from groundlint.electrical.study.results import clearing, exposure, lead_duty, rod_result
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Lead, Person, Rod, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

WITHIN = 0.005

PLAN = """\
line Larkspur
  voltage   {kilovolts} kV
  frequency 60 Hz
  phases    A B C
  no neutral
  no shield wire
  wires     A B C 336.4 kcmil acsr
  spacing   crossarm-8ft
  route     211 ({metres} m) 212
source West beyond 211
  fault     {three} kA three-phase, {one} kA to ground, x/r {ratio}
  {clears}
no other source
no parallel line
structure 211 212 steel pole footing {footing} ohm
soil      {soil} ohm m
measured  clamp-contact-resistance 0.3 mohm
measured  lead-temperature 40 C
measured  rope-lay-factor 104 %
measured  lead-loop-distance 0.5 m
measured  conductor-temperature 50 C
measured  earth-return-resistivity 100 ohm m
measured  cluster-bar-resistance 0.02 mohm
measured  leakage-resistance 1e7 ohm
rod       R1          8 ft x 5/8 in
bar       K1
lead      G1..G5      {size} copper {feet} ft grade 5
stick     H1          8 ft
crew      lineman L1
stage ground
{steps}
"""
STEEL = """\
  mount     K1 at 212 below the feet
  attach    G1 to 212 steel, then to K1
  attach    G2 to K1, then to 212 A by H1
  attach    G3 to K1, then to 212 B by H1
  attach    G4 to K1, then to 212 C by H1
  enter     L1 at 212 on the pole, reaching A B C and the pole
"""
ROD = """\
  set       R1 at 212, 16 ft from the pole, 8 ft deep
  attach    G1 to R1, then to 212 A by H1
"""
FT, AWG = 0.3048, {"2/0": 2, "4/0": 4}
ROTATE = cmath.rect(1, -2 * math.pi / 3)


class Textbook:
    """The plan's circuit by hand: three loops, each through source, line and lead, with a common way back to the source
    through the earth."""

    def __init__(self, **given: float | str) -> None:
        self.given = given
        kilovolts, three, one = (float(given[name]) for name in ("kilovolts", "three", "one"))
        angle = math.atan(float(given["ratio"]))
        self.emf = 1000 * kilovolts / math.sqrt(3)
        z1 = cmath.rect(self.emf / (1000 * three), angle)
        z0 = cmath.rect(3 * self.emf / (1000 * one), angle) - 2 * z1
        own, mutual = (z0 + 2 * z1) / 3, (z0 - z1) / 3
        miles = float(given["metres"]) / 1609.344
        places = ((-3.67, 34.0), (0.0, 35.5), (3.67, 34.0))
        # 336.4 kcmil 26/7: 0.306 ohm a mile at 50 C, GMR 0.0244 ft
        self.loops = [
            [
                (own if j == k else mutual)
                + miles * complex(0.0953 + (0.306 if j == k else 0), 0.12134 * (math.log(1 / apart) + 7.93402))
                for k, there in enumerate(places)
                for apart in [0.0244 if j == k else math.dist(here, there)]
            ]
            for j, here in enumerate(places)
        ]

    def lead(self, heat: float = 0.0, count: int = 1) -> complex:
        """Leads one after another: cable from 40 C, with the `heat` of a fault in it (A2 s), and two contacts each."""
        size, length = str(self.given["size"]), FT * float(self.given["feet"])
        mm2 = math.pi / 4 * (0.46 * 25.4 * 92 ** ((AWG[size] - 4) / 39)) ** 2
        hot = 274 * math.exp(heat / 1e6 / mm2**2 / (3.42e-4 / (0.00393 * 1.72))) - 234  # IEEE 80-2000 Eq 37
        ohms = 17.241e-3 * 1.04 * length / mm2 * (234.5 + hot) / 254.5
        radius = math.sqrt(mm2 / 0.6 / math.pi) / 1000
        return count * complex(ohms + 0.6e-3, 2 * math.pi * 60 * 2e-7 * length * math.log(0.5 / radius))

    def currents(self, poles: str, each: complex, ground: complex) -> dict[str, complex]:
        """Current in each of some phases, with an impedance in each and one in common (Kirchhoff, Cramer)."""
        on = ["ABC".index(pole) for pole in poles]
        rows = [[self.loops[j][k] + ground + (each if j == k else 0) for k in on] for j in on]
        emf = [self.emf * ROTATE**j for j in on]
        whole = _determinant(rows)
        return {
            "ABC"[j]: _determinant([[*row[:n], e, *row[n + 1 :]] for row, e in zip(rows, emf, strict=True)]) / whole
            for n, j in enumerate(on)
        }

    def heat(self, seconds: float) -> float:
        """I2t of the largest bolted fault, with its offset."""
        three, one = 1000 * float(self.given["three"]), 1000 * float(self.given["one"])
        z1, z0 = self.emf / three, 3 * self.emf / one - 2 * self.emf / three  # of one angle
        return (max(three, one, 3 * self.emf / (z1 + 2 * z0)) * self.offset(seconds)) ** 2 * seconds

    def offset(self, seconds: float) -> float:
        """IEEE 80-2000 Eq 79."""
        ta = float(self.given["ratio"]) / (2 * math.pi * 60)
        return math.sqrt(1 + ta / seconds * (1 - math.exp(-2 * seconds / ta)))


def _determinant(rows: list[list[complex]]) -> complex:
    if len(rows) == 1:
        return rows[0][0]
    return sum(
        (
            (-1) ** k * value * _determinant([[*row[:k], *row[k + 1 :]] for row in rows[1:]])
            for k, value in enumerate(rows[0])
        ),
        0j,
    )


def studied(steps: str, plan: str = PLAN, **given: float | str) -> Study:
    text = plan.format(steps=steps.rstrip("\n"), **given)
    result = read_plan(Source("plan.tpg", text))
    assert not result.plan.unread, [one.message for one in result.diagnostics]
    found = study_of(replay(result.plan))
    assert isinstance(found, Study)
    return found


def of(found: Study, sort: type, name: str) -> object:
    return next(thing for thing in found.timeline.plan.of(sort) if thing.name == name)


TWO = (
    PLAN.replace("({metres} m) 212", "({metres} m) 212 ({east[metres]} m) 213")
    .replace("structure 211 212", "structure 211..213")
    .replace(
        "no other source",
        "source East beyond 213\n"
        "  fault     {east[three]} kA three-phase, {east[one]} kA to ground, x/r {east[ratio]}\n"
        "  clears in {east[cycles]} cycles\nno source but West East\n{switches}",
    )
)


class Both:
    """Two sources at once: currents from either side meet in the leads."""

    def __init__(self, west: Textbook, east: Textbook) -> None:
        self.sides = west, east

    def currents(self, poles: tuple[str, str], each: complex, ground: complex) -> dict[str, complex]:
        """Current in each phase's lead, of what either side drives by some poles (Kirchhoff, Cramer)."""
        on = [(side, "ABC".index(pole)) for side, some in zip(self.sides, poles, strict=True) for pole in some]
        rows = [
            [(one.loops[j][k] if one is other else 0) + ground + (each if j == k else 0) for other, k in on]
            for one, j in on
        ]
        emf = [side.emf * ROTATE**j for side, j in on]
        whole = _determinant(rows)
        found = dict.fromkeys("ABC", 0j)
        for n, (_, j) in enumerate(on):
            found["ABC"[j]] += (
                _determinant([[*row[:n], e, *row[n + 1 :]] for row, e in zip(rows, emf, strict=True)]) / whole
            )
        return found


WAYS = ("ABC", "A", "B", "C", "AB", "AC", "BC")
ZONES = [
    {
        "kilovolts": 12.47,
        "three": 6.8,
        "one": 5.2,
        "ratio": 9,
        "metres": 52,
        "footing": 10,
        "size": "2/0",
        "feet": 25,
        "cycles": 24,
    },
    {
        "kilovolts": 34.5,
        "three": 14,
        "one": 4,
        "ratio": 15,
        "metres": 900,
        "footing": 4,
        "size": "4/0",
        "feet": 20,
        "cycles": 12,
    },
    {
        "kilovolts": 69,
        "three": 9,
        "one": 9,
        "ratio": 20,
        "metres": 3000,
        "footing": 25,
        "size": "4/0",
        "feet": 40,
        "cycles": 6,
    },
    {
        "kilovolts": 4.16,
        "three": 3,
        "one": 2,
        "ratio": 3,
        "metres": 40,
        "footing": 2,
        "size": "2/0",
        "feet": 12,
        "cycles": 60,
    },
    {
        "kilovolts": 24.9,
        "three": 20,
        "one": 15,
        "ratio": 30,
        "metres": 120,
        "footing": 1,
        "size": "4/0",
        "feet": 15,
        "cycles": 15,
    },
]
RODS = [
    {"kilovolts": 34.5, "three": 6.8, "one": 5.2, "ratio": 9, "metres": 52, "soil": 120, "pickup": 60, "dial": 0.2},
    {"kilovolts": 12.47, "three": 4, "one": 3, "ratio": 4, "metres": 800, "soil": 60, "pickup": 40, "dial": 0.1},
    {"kilovolts": 69, "three": 12, "one": 8, "ratio": 25, "metres": 5000, "soil": 300, "pickup": 100, "dial": 0.05},
    {"kilovolts": 24.9, "three": 9, "one": 7, "ratio": 12, "metres": 200, "soil": 45, "pickup": 240, "dial": 0.3},
    {"kilovolts": 13.8, "three": 2, "one": 1, "ratio": 6, "metres": 60, "soil": 900, "pickup": 5, "dial": 0.5},
]


@pytest.mark.parametrize("given", ZONES, ids=lambda one: f"{one['kilovolts']} kV")
def test_a_zone_on_steel(given: dict[str, float | str]) -> None:
    """Each phase by a lead to a bar on the steel: currents of the leads, and the worst voltage in reach."""
    seconds = float(given["cycles"]) / 60
    given = {**given, "soil": 120, "clears": f"clears in {given['cycles']} cycles"}
    found, book = studied(STEEL, **given), Textbook(**given)
    source, person, lead = (of(found, *one) for one in ((SupplySource, "West"), (Person, "L1"), (Lead, "G2")))
    assert isinstance(source, SupplySource)
    assert isinstance(person, Person)
    assert isinstance(lead, Lead)
    ground = float(given["footing"]) + 0.02e-3  # the bracket of the bar, beside a lead that is a hundred times that
    cold, hot = book.lead(), book.lead(book.heat(seconds))
    duty = lead_duty(found, lead, source)
    assert duty is not None
    assert not isinstance(duty, Unknown)
    assert not isinstance(duty.current, Unknown)
    # A and B are joined before C is, when C of all three drives nothing
    low, high = (max(abs(book.currents(way, z, ground).get("A", 0)) for way in WAYS) for z in (hot, cold))
    assert ends(duty.current) == pytest.approx((low, high), rel=WITHIN)
    worst = exposure(found, person, source, found.timeline.n)
    assert worst is not None
    assert not isinstance(worst.voltage, Unknown)
    volts = []
    for way in WAYS:
        drop = {pole: amps * hot for pole, amps in book.currents(way, hot, ground).items()}
        at = [drop.get(pole, 0) for pole in "ABC"]
        volts += [abs(at[0] - at[1]), abs(at[0] - at[2]), abs(at[1] - at[2]), *(abs(one) for one in at)]
    assert ends(worst.voltage)[1] == pytest.approx(max(volts) * book.offset(seconds), rel=WITHIN)


@pytest.mark.parametrize("given", ZONES, ids=lambda one: f"{one['kilovolts']} kV")
@pytest.mark.parametrize("three", [pytest.param("", id="to ground alone"), pytest.param("{three} kA three-phase, ")])
def test_a_line_of_one_phase(given: dict[str, float | str], three: str) -> None:
    """Its only fault is that to ground, whose current says all that is needed of the source."""
    given = {**given, "soil": 120, "clears": f"clears in {given['cycles']} cycles"}
    one = PLAN.replace("phases    A B C", "phase     A").replace("crossarm-8ft", "single-phase")
    one = one.replace("wires     A B C", "wires     A").replace("{three} kA three-phase, ", three)
    steps = "\n".join(line for line in STEEL.splitlines() if "212 B" not in line and "212 C" not in line)
    found, book = studied(steps.replace("A B C and", "A and"), one, **given), Textbook(**given)
    source, person, lead = (of(found, *one) for one in ((SupplySource, "West"), (Person, "L1"), (Lead, "G2")))
    assert isinstance(source, SupplySource)
    assert isinstance(person, Person)
    assert isinstance(lead, Lead)
    alone = Textbook(**(given if three else {**given, "three": given["one"]}))  # what heats the lead
    ground, seconds = float(given["footing"]) + 0.02e-3, float(given["cycles"]) / 60
    cold, hot = book.lead(), book.lead(alone.heat(seconds))
    duty, worst = lead_duty(found, lead, source), exposure(found, person, source, found.timeline.n)
    assert duty is not None
    assert worst is not None
    assert not isinstance(duty, Unknown)
    assert not isinstance(duty.current, Unknown)
    assert not isinstance(worst.voltage, Unknown)
    low, high = (abs(book.currents("A", z, ground)["A"]) for z in (hot, cold))
    assert ends(duty.current) == pytest.approx((low, high), rel=WITHIN)
    assert ends(worst.voltage)[1] == pytest.approx(low * abs(hot + 0.02e-3) * book.offset(seconds), rel=WITHIN)


EAST = {"three": 5, "one": 3.5, "ratio": 18, "metres": 400, "cycles": 40}
SHARED = (
    "switch    S1 between S2 and 211 open\n"
    "switch    S2 between West and S1 closed\n"
    "switch    S3 between East and S1 closed\n"
)
OPEN = "switch    S1 between West and 211 open\nswitch    S2 between East and 213 open\n"


@pytest.mark.parametrize(
    ("switches", "both"),
    [
        pytest.param("", True, id="no open point is stated"),
        pytest.param(OPEN.replace("213 open", "213 closed"), True, id="one is closed"),
        pytest.param(OPEN, False, id="each is open"),
        pytest.param(SHARED, True, id="both are behind the same one"),
    ],
)
@pytest.mark.parametrize("given", ZONES[:3], ids=lambda one: f"{one['kilovolts']} kV")
def test_a_zone_between_two_sources(given: dict[str, float | str], switches: str, both: bool) -> None:
    """Each source by itself, and, where nothing holds them off one by one, both at once by the same poles. Who clears
    last counts, and so does the larger X/R. What only may feed as well counts for the most alone."""
    given = {**given, "soil": 120, "clears": f"clears in {given['cycles']} cycles"}
    found = studied(STEEL, TWO, switches=switches, east=EAST, **given)  # type: ignore[arg-type]
    west, east = Textbook(**given), Textbook(**{**given, **EAST})
    ground = float(given["footing"]) + 0.02e-3
    book = Both(west, east)
    times = {"West": float(given["cycles"]) / 60, "East": EAST["cycles"] / 60}
    amps = [math.sqrt(one.heat(time) / time) for one, time in zip((west, east), times.values(), strict=True)]
    alone = max(one.heat(time) for one, time in zip((west, east), times.values(), strict=True))
    heat = sum(amps) ** 2 * max(times.values()) if both else alone
    cold, hot = west.lead(), west.lead(heat)
    together = [(one, one) for one in WAYS]
    for name, mine in (("West", [(way, "") for way in WAYS]), ("East", [("", way) for way in WAYS])):
        source, person, lead = (of(found, *one) for one in ((SupplySource, name), (Person, "L1"), (Lead, "G2")))
        assert isinstance(source, SupplySource)
        assert isinstance(person, Person)
        assert isinstance(lead, Lead)
        ways = mine + (together if both else [])
        duty = lead_duty(found, lead, source)
        assert duty is not None
        assert not isinstance(duty, Unknown)
        assert not isinstance(duty.current, Unknown)
        sure = ways if switches else mine  # without open points it is not stated that the other feeds the line too
        low, high = (
            max(abs(book.currents(way, z, ground)["A"]) for way in some) for some, z in ((sure, hot), (ways, cold))
        )
        assert ends(duty.current) == pytest.approx((low, high), rel=WITHIN)
        worst = exposure(found, person, source, found.timeline.n)
        assert worst is not None
        assert not isinstance(worst.voltage, Unknown)
        volts = []
        for way in ways:
            drop = {pole: current * hot for pole, current in book.currents(way, hot, ground).items()}
            at = [drop[pole] for pole in "ABC"]
            reach = max(abs(at[0] - at[1]), abs(at[0] - at[2]), abs(at[1] - at[2]), *(abs(one) for one in at))
            driving = [one for one, poles in zip(("West", "East"), way, strict=True) if poles]
            ratio = max({"West": float(given["ratio"]), "East": EAST["ratio"]}[one] for one in driving)
            ta, time = ratio / (2 * math.pi * 60), max(times[one] for one in driving)
            volts.append(reach * math.sqrt(1 + ta / time * (1 - math.exp(-2 * time / ta))))
        assert ends(worst.voltage)[1] == pytest.approx(max(volts), rel=WITHIN)


@pytest.mark.parametrize("given", RODS, ids=lambda one: f"{one['kilovolts']} kV")
def test_a_phase_on_a_rod(given: dict[str, float | str]) -> None:
    """Rise, clearing by an IEC very inverse relay, and the distance past which a step of 1 m is within the limit."""
    given = {
        "clears": f"relay iec-very-inverse pickup {given['pickup']} A dial {given['dial']} breaker 5 cycles",
        "footing": 10,
        "size": "2/0",
        "feet": 25,
        **given,
    }
    found, book = studied(ROD, **given), Textbook(**given)
    source, rod = of(found, SupplySource, "West"), of(found, Rod, "R1")
    assert isinstance(source, SupplySource)
    assert isinstance(rod, Rod)
    length, diameter, soil = 8 * FT, 0.625 * 0.0254, float(given["soil"])
    spread = math.log(8 * length / diameter) - 1
    ohms = soil / (2 * math.pi * length) * spread  # Dwight
    amps = abs(book.currents("A", book.lead(), ohms)["A"])
    multiple = min(amps / float(given["pickup"]), 20)
    seconds = float(given["dial"]) * 13.5 / (multiple - 1) + 5 / 60
    seen = clearing(found, source, found.timeline.n)
    assert not isinstance(seen, Unknown)
    kept = rod_result(found, rod, source)
    assert kept is not None
    assert not isinstance(kept, Unknown)
    for value in (kept.rise, kept.time, kept.current, kept.keep_away, kept.resistance):
        assert not isinstance(value, Unknown)
    assert kept.resistance == pytest.approx(ohms, rel=WITHIN)
    assert ends(kept.current)[1] == pytest.approx(amps, rel=WITHIN)
    assert ends(kept.time)[1] == pytest.approx(seconds, rel=WITHIN)
    rise = amps * ohms * book.offset(seconds)
    assert ends(kept.rise)[1] == pytest.approx(rise, rel=WITHIN)
    allowed = (1000 + 6 * soil) * 0.116 / math.sqrt(seconds) if seconds < 3 else (1000 + 6 * soil) * 0.006
    near, far = 1e-3, 1e4
    for _ in range(80):
        x = math.sqrt(near * far)
        step = rise * (math.asinh(length / x) - math.asinh(length / (x + 1))) / spread
        near, far = (x, far) if step > allowed else (near, x)
    assert ends(kept.keep_away)[1] == pytest.approx(far, rel=WITHIN)


def test_the_heat_of_a_fault_is_named_where_nothing_else_decides_only() -> None:
    """A plan cannot state it: what it can state comes first, and where that is measured what makes less of the heat."""
    given = {"kilovolts": 12.47, "metres": 50, "three": 4.0, "one": 3.0, "ratio": 5, "clears": "clears in 30 cycles"}
    given |= {"footing": 10, "soil": 100, "size": "2/0", "feet": 20}
    for measured, named in (
        (PLAN, ["lead heating, which a larger lead or a shorter clearing time makes less"]),
        (PLAN.replace("measured  lead-loop-distance 0.5 m\n", ""), ["lead loop distance"]),
    ):
        study = studied(STEEL, measured, **given)
        (person,) = (one for one in study.timeline.plan.of(Person) if isinstance(one, Person))
        (source,) = study.site.sources
        volts = study.voltage(person, source, study.timeline.n)
        assert not isinstance(volts, Unknown)
        assert [gap.fact for gap in study.narrowing(volts[0])] == named

"""The site of a generated plan: line, sources, switches, equipment and crew, in the words of the plan."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random

from plan_rows import HEAD, PROPERTY, THING, Row, row
from sound_words import Words, words


@dataclass
class Site:
    """What stands at the site. ``works``, ``left`` and ``right`` are places on the route (None for single-point)."""

    rng: Random
    say: Words
    metric: bool
    structures: list[str]
    works: list[int]
    left: int | None
    right: int | None
    material: str
    pole_grounds: bool
    guyed: bool
    phases: tuple[str, str, str]
    neutral: str  # "" for none
    earthing: str  # multigrounded, unigrounded, "" for none
    small: bool
    shield: str
    bucket: bool
    voltage: str
    line: str
    rod: tuple[float, float]  # length of a rod and of a lead, in feet and in metres
    lead: tuple[float, float]
    people: list[tuple[str, str]] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    bare: bool = False  # a live part near the line is not covered before the plan begins

    def length(self, feet: float, metres: float) -> str:
        """A length in the plan's own unit."""
        return f"{metres:g} m" if self.metric else f"{feet:g} ft"

    @property
    def dual(self) -> bool:
        """Two points bracket the work."""
        return self.left is not None


PHASES = (("A", "B", "C"), ("A", "B", "C"), ("R", "Y", "B"), ("U", "V", "W"), ("A", "C", "B"))
VOLTAGES = {
    "4.16 kV": ("600 V", "7.2 kV"),
    "11 kV": ("1 kV", "36 kV"),
    "12.47 kV": ("5 kV", "40 kV"),
    "13.8 kV": ("5 kV", "40 kV"),
    "22 kV": ("3 kV", "36 kV"),
    "24.9 kV": ("4.16 kV", "46 kV"),
    "33 kV": ("11 kV", "66 kV"),
    "34.5 kV": ("5 kV", "69 kV"),
}
NAMES = ("Larkspur", "Alder", "Tamarack", "Osier", "Sumac", "Hazel", "Juniper")
LEADS = (
    ("2/0 copper", "3"),
    ("4/0 copper", "5"),
    ("3/0 copper", "4"),
    ("70 mm2 copper", "3"),
    ("120 mm2 copper", "5"),
    ("250 kcmil copper", "6"),
)


def site(rng: Random) -> Site:
    """A site in which a sound plan can be written."""
    say = words(rng)
    metric = rng.random() < (0.8 if say.earth else 0.25)
    count = rng.randint(3, 9)
    start = max(rng.randint(1, 900), 2)  # T1 is the tester
    style = rng.choice(("{}", "{}", "P-{}", "T{}", "4-{}", "W{}"))
    structures = [style.format(start + at) for at in range(count)]
    dual = rng.random() < 0.5
    many = rng.random() < 0.3
    if dual:
        first = rng.randint(1, count - 2)
        works = [first]
        left, right = first - rng.choice((1, 1, 2)), first + rng.choice((1, 1, 2))
        left, right = max(left, 0), min(right, count - 1)
        if many and right == first + 1 and right + 1 < count and first - left == 1:
            works, right = [first, first + 1], first + 2
    else:
        works = sorted(rng.sample(range(count), 2 if many else 1))
        left = right = None
    material = rng.choice(("wood", "wood", "wood", "concrete", "steel"))
    earthing = rng.choice(("multigrounded", "multigrounded", "multigrounded", "unigrounded", ""))
    bucket = rng.random() < 0.3
    return Site(
        rng=rng,
        say=say,
        metric=metric,
        structures=structures,
        works=works,
        left=left,
        right=right,
        material=material,
        pole_grounds=material != "steel" and rng.random() < 0.4,
        guyed=material != "steel" and rng.random() < 0.3,
        phases=rng.choice(PHASES),
        neutral=rng.choice(("N", "N", "NT")) if earthing else "",
        earthing=earthing,
        small=earthing == "multigrounded" and rng.random() < 0.25,
        shield=rng.choice(("OGW", "SH", "EW")) if rng.random() < 0.25 else "",
        bucket=bucket,
        voltage=rng.choice(list(VOLTAGES)),
        line=rng.choice(NAMES),
        rod=rng.choice(((6, 2), (8, 2.4))),
        lead=rng.choice(((25, 7.5), (30, 9), (20, 6), (18, 5.5))),
    )


def headers(site: Site, dated: date) -> list[Row]:
    """Title, papers, method, cautions."""
    rng = site.rng
    places = " and ".join(site.structures[at] for at in site.works)
    method = "dual-point" if site.dual else rng.choice(("single-point", "worksite"))
    small = rng.choice((" small neutral", " small-neutral alternative")) if site.small and rng.random() < 0.6 else ""
    seat = (
        "from bucket"
        if site.bucket
        else "from steel"
        if site.material == "steel"
        else f"from the {rng.choice(('pole', 'structure'))}"
    )
    document = rng.choice(("document", "procedure"))
    rows = [
        row(
            HEAD,
            "plan",
            'plan "{title}"',
            title=f"{rng.choice(('Change out crossarm', 'Replace insulators', 'Renew dead-end'))} at {places}",
        ),
        row(
            HEAD,
            "document",
            "{word} {ident} {rev} {n} dated {date}",
            word=document,
            ident=f"LP-{rng.randint(100, 9999):04}",
            rev=rng.choice(("revision", "rev")),
            n=str(rng.randint(1, 9)),
            date=dated.isoformat(),
        ),
        row(
            HEAD,
            "method",
            "method {method}{small}{access}",
            method=method,
            small=small,
            access=f" {seat}",
        ),
    ]
    cautions = ("stay clear of the rod", "traffic on the road below", "steep ground on the east side")
    rows += [row(HEAD, "caution", 'caution "{text}"', text=text) for text in rng.sample(cautions, rng.randint(1, 2))]
    rows.append(
        row(
            HEAD,
            "emergency",
            'emergency "{text}"',
            text="call dispatch on channel 3; bring the injured down by hand line",
        )
    )
    return rows


def line(site: Site) -> list[Row]:
    """The line and its properties."""
    rng = site.rng
    first, second, third = site.phases
    duty = "too small" if site.small else "carries the fault"
    if site.small and rng.random() < 0.5:
        duty = "too small for the fault"
    neutral = (
        site.say.multigrounded if site.earthing == "multigrounded" else rng.choice(("unigrounded", "uni-grounded"))
    )
    size, small = ("150 mm2 acsr", "16 mm2 copper") if site.metric else ("336.4 kcmil acsr", "4 AWG copper")
    wires = f"{first} {second} {third} {size}"
    if site.neutral:
        wires += f", {site.neutral} {small if site.small else '4/0 acsr'}"
    if site.shield:
        wires += f", {site.shield} {'95 mm2 acsr' if site.metric else '3/0 acsr'}"
    spans = [f"{name} ({site.length(rng.randint(140, 260), rng.randint(40, 80))})" for name in site.structures[:-1]]
    props = [
        row(PROPERTY, "voltage", "voltage {amount}", amount=site.voltage),
        row(PROPERTY, "altitude", "altitude {amount}", amount=site.length(rng.randint(0, 6000), rng.randint(0, 1800))),
        row(PROPERTY, "frequency", "frequency {amount}", amount="50 Hz" if site.say.earth else "60 Hz"),
        row(PROPERTY, "phases", "phases {names}", names=" ".join(site.phases)),
        row(PROPERTY, "neutral", "neutral {name} {earthing} {duty}", name=site.neutral, earthing=neutral, duty=duty)
        if site.neutral
        else row(PROPERTY, "neutral", "no neutral"),
        row(PROPERTY, "shield", "{word} {name}", word=site.say.shield, name=site.shield)
        if site.shield
        else row(PROPERTY, "shield", f"no {site.say.shield}"),
        row(PROPERTY, "wires", "{word} {wires}", word=rng.choice(("wires", "conductors")), wires=wires),
        row(PROPERTY, "route", "route {hops}", hops=" ".join([*spans, site.structures[-1]])),
    ]
    if rng.random() < 0.3:
        rng.shuffle(props)
    return [row(THING, "line", "line {name}", name=site.line), *props]


def sources(site: Site) -> list[Row]:
    """Sources and their switches."""
    rng = site.rng
    route = site.structures
    if site.left is not None and site.right is not None:
        outside = [*route[: site.left + 1], *route[site.right :]]
    else:
        outside = list(route)
    kinds = [("West", f"beyond {route[0]}", route[0], "utility")]
    more = [
        ("East", f"beyond {route[-1]}", route[-1], rng.choice(("tie", "utility"))),
        ("Solar", f"at {(place := rng.choice(outside))}", place, "customer generation"),
        ("XF9", f"at {(lower := rng.choice(outside))}", lower, "transformer backfeed"),
    ]
    kinds += rng.sample(more, rng.choice((0, 0, 1, 1, 2)))
    rows: list[Row] = []
    switches: list[Row] = []
    for at, (name, where, end, sort) in enumerate(kinds):
        site.sources.append(name)
        rows.append(
            row(
                THING,
                "source",
                "source {name} {where}{sort}",
                name=name,
                where=where,
                sort=f" {sort}",
            )
        )
        strong = sort in ("utility", "tie")
        if not strong:
            rows.append(row(PROPERTY, "source_voltage", "voltage {amount}", amount=site.voltage))
        kiloamps = rng.choice((2.4, 4, 5.1, 6.8)) if strong else rng.choice((0.2, 0.6))
        rows += _fault(site, name, kiloamps, stated=strong)
        rows.append(
            row(
                PROPERTY,
                "clears",
                "clears {time}",
                time=rng.choice(("in 24 cycles", "in 0.4 s", "12 cycles", "in 250 ms")),
            )
        )
        # sensitive to earth faults where rods or a few grounds are the only way back
        pickup = 50 * kiloamps if strong and site.earthing == "multigrounded" else 4
        rows.append(
            row(
                PROPERTY,
                "relay",
                "relay {curve} pickup {pickup} dial {dial} breaker {breaker}",
                curve=rng.choice(("iec-very-inverse", "iec-standard-inverse", "ieee-very-inverse")),
                pickup=f"{pickup:g} A",
                dial=rng.choice(("0.03", "0.04", "0.05")),
                breaker=rng.choice(("5 cycles", "80 ms")),
            )
        )
        blocked = rng.random() < 0.2
        sort_of = (
            rng.choice(("switch", "disconnect", "recloser", "breaker", "cutout"))
            if strong
            else rng.choice(("cutout", "fuse", "switch", "elbow"))
        )
        if site.say.earth and sort_of == "disconnect":
            sort_of = "disconnector"
        recloses = sort_of in ("recloser", "breaker")
        if strong or recloses:
            rows.append(
                row(
                    PROPERTY,
                    "reclosing",
                    "reclosing {state}",
                    state=rng.choice(("blocked", "off")) if blocked else "on",
                )
            )
        series = rng.random() < 0.15
        if series:
            rows.append(row(PROPERTY, "through", "through {names}", names=f"SW{at}1 DS{at}2"))
            switches += _switch(site, sort_of, f"SW{at}1", name, f"DS{at}2", recloses)
            switches += _switch(site, "disconnect", f"DS{at}2", f"SW{at}1", end, recloses)
        else:
            switches += _switch(site, sort_of, f"SW{at}1", name, end, recloses)
    rows.append(
        row(HEAD, "no_source", "no other source")
        if len(kinds) == 1
        else row(HEAD, "no_source", "{words}", words=f"no source but {' '.join(site.sources)}")
    )
    return [*rows, *switches]


def _fault(site: Site, name: str, kiloamps: float, *, stated: bool) -> list[Row]:
    rng = site.rng
    form = rng.random()
    to_ground = f"{kiloamps * 0.7:g} kA to {site.say.ground}"
    if form < 0.15 and stated:
        mva = 3**0.5 * float(site.voltage.split()[0]) * kiloamps
        return [
            row(PROPERTY, "fault", "power {amount}{xr}", amount=f"{mva:.0f} MVA", xr=" x/r 9"),
            row(PROPERTY, "fault", "fault {ground}", ground=to_ground),
        ]
    if form < 0.3 and stated:
        ohms = float(site.voltage.split()[0]) / 3**0.5 / kiloamps
        return [
            row(
                PROPERTY,
                "fault",
                "impedance positive {r} reactance {x}, zero {r0} reactance {x0}",
                r=f"{ohms * 0.11:.3f} ohm",
                x=f"{ohms * 0.99:.3f} ohm",
                r0=f"{ohms * 0.3:.3f} ohm",
                x0=f"{ohms * 2.1:.3f} ohm",
            )
        ]
    return [
        row(
            PROPERTY,
            "fault",
            "fault {three} three-phase{ground}{xr}",
            three=f"{kiloamps:g} kA" if form < 0.8 else f"{kiloamps * 1000:.0f} A",
            ground=f", {to_ground}",
            xr=f", x/r {rng.randint(3, 14)}",
        )
    ]


def _switch(site: Site, sort: str, name: str, one: str, other: str, recloses: bool) -> list[Row]:
    """A switch, which the crew finds open or has to open."""
    rng = site.rng
    position = rng.choice(("", "", " closed", " normally closed", " normally open"))
    if not recloses and rng.random() < 0.12:
        position = " open"
    elif name.startswith("DS") and not position:  # of two in a row, whether the source reaches the line hangs on both
        position = " closed"
    no_lock = rng.random() < 0.25
    held = (
        rng.choice((" tagged locked", " tagged, locked", " tagged", "")) if position == " open" and not no_lock else ""
    )
    kinds = ("", " manual") if sort in ("cutout", "fuse", "elbow") else (" manual", " manual", " remote", " automatic")
    control = rng.choice(kinds)
    stays = " control always on" if control not in ("", " manual") and not no_lock and rng.random() < 0.2 else ""
    return [
        row(
            THING,
            "switch",
            "{sort} {name} between {one} and {other}{position}{held}{gap}{control}{stays}{lock}{away}",
            sort=sort,
            name=name,
            one=one,
            other=other,
            position=position,
            held=held,
            gap=rng.choice((" visible gap", " no visible gap", "", "", "")),
            control=control,
            stays=stays,
            lock=" no place for a lock out of public reach" if no_lock else "",
            away="" if other.startswith("DS") else f" {site.length(150, 45)} from {other}",
        )
    ]


def surroundings(site: Site) -> list[Row]:
    """Parallel circuits, live neighbours, structures, soil."""
    rng = site.rng
    route = site.structures
    rows: list[Row] = []
    if rng.random() < 0.7:
        rows.append(row(HEAD, "no_parallel", rng.choice(("no parallel line", "no parallel circuit"))))
    else:
        rows.append(
            row(
                THING,
                "parallel",
                "parallel {name} beside {one} to {other} at {far}",
                name="Birch",
                one=route[0],
                other=route[-1],
                far=site.length(60, 20),
            )
        )
        rows.append(row(PROPERTY, "voltage", "voltage {amount}", amount="69 kV"))
        rows.append(row(PROPERTY, "current", "current {amount}", amount="300 A"))
        rows.append(row(PROPERTY, "fault", "fault {amount} to ground, x/r 6", amount="1.2 kA"))
        rows.append(row(PROPERTY, "clears", "clears in {amount}", amount="5 cycles"))
    if rng.random() < 0.75:
        rows.append(row(HEAD, "no_neighbour", rng.choice(("no live neighbour", "no neighbour"))))
    else:
        there = rng.choice(route)
        covered = rng.random() < 0.5
        site.bare = not covered
        near = rng.random() < 0.5
        bare = not covered and rng.random() < 0.5
        rows.append(
            row(
                THING,
                "rubber",
                "rubber {kind} LH1 class {class_}",
                kind=rng.choice(("line hose", "blanket", "cover")),
                class_=str(rng.randint(1, 4)),
            )
        )
        rows.append(
            row(
                THING,
                "neighbour",
                "neighbour U1 live {volts} at {at}, {gap} from {point}{covered}{bare}",
                volts="7.2 kV",
                at=there,
                gap=site.length(*((4, 1.2) if near else (12, 4))),
                bare=", bare" if bare else "",
                point=f"{there} {site.phases[0]}",
                covered=", covered with LH1" if covered else "",
            )
        )
        rows.append(row(PROPERTY, "reclosing", "reclosing {state}", state="off"))
        rows.append(row(HEAD, "no_neighbour", "no neighbour but U1"))
    extra = ""
    if site.material == "steel":
        extra = f" footing {rng.randint(4, 20)} ohm"
    elif site.pole_grounds:
        extra = f" with {site.say.pole_ground}" + f" {rng.randint(8, 25)} ohm"
    if site.guyed:
        extra += " guyed"
    noun = rng.choice(("tower", "pole", "structure") if site.material == "steel" else ("pole", ""))
    groups = [route] if rng.random() < 0.7 else [route[:2], route[2:]]
    kind = {"word": site.say.structure, "material": site.material, "noun": f" {noun}" if noun else "", "extra": extra}
    rows += [
        row(THING, "structure", "{word} {names} {material}{noun}{extra}", names=" ".join(group), **kind)
        for group in groups
    ]
    if site.material != "steel":
        strap = "0.02 ohm" if site.material == "concrete" else "0.1 ohm"
        rows.append(row(HEAD, "measured", "measured bar-to-pole-resistance {amount}", amount=strap))
    if site.material == "concrete":
        rows.append(row(HEAD, "measured", "measured concrete-structure-resistance {amount}", amount="60 ohm"))
    soil = rng.choice(("120 ohm m", "80 ohm m", "350 ohm m", "60 ohm m"))
    layers = rng.choice(("", "", f" to {site.length(6, 2)} then 40 ohm m"))
    rows.append(row(THING, "soil", "soil {amount}{layers}", amount=soil, layers=layers))
    if rng.random() < 0.12:
        at = f" at {rng.choice(route)}" if rng.random() < 0.8 else ""
        rows.append(row(THING, "capacitor", "capacitor{bank} CB1{at}", bank=rng.choice(("", " bank")), at=at))
    if rng.random() < 0.15:
        rows.append(row(THING, "surface", "surface gravel 3000 ohm m {thick}", thick=site.length(0.5, 0.15)))
    return rows


def crew(site: Site) -> list[Row]:
    """Two to five people."""
    rng = site.rng
    count = rng.randint(2, 5)
    lineman = site.say.lineman
    pool = [
        ("L1", lineman),
        ("F1", "foreman"),
        ("L2", lineman),
        ("M1", rng.choice(("groundman", "groundworker"))),
        ("A1", "apprentice"),
    ]
    site.people = pool[:count] if rng.random() < 0.7 else [pool[0], *rng.sample(pool[1:], count - 1)]
    by_role: dict[str, list[str]] = {}
    for name, role in site.people:
        by_role.setdefault(role, []).append(name)
    members = ", ".join(
        f"{role} {' '.join(names)}{rng.choice(('', '', ' qualified'))}" for role, names in by_role.items()
    )
    return [row(THING, "crew", "crew {crew}{members}", crew=rng.choice(("", "", "North: ")), members=members)]


def equipment(site: Site, dated: date, rods: list[str], bars: list[str], leads: list[str]) -> list[Row]:
    """Rods, bars, leads, detector and its tester, sticks, a vehicle."""
    rng, say = site.rng, site.say
    size, grade = rng.choice(LEADS)
    tested = dated - timedelta(days=rng.randint(10, 340))
    dates = rng.choice(
        (
            f"tested {tested}",
            f"tested {tested}",
            f"tested {tested} due {tested + timedelta(days=360)}",
            f"due {dated + timedelta(days=30)}",
        )
    )
    low, high = VOLTAGES[site.voltage]
    rows: list[Row] = []
    if rods:
        across = "16 mm" if site.metric else "5/8 in"
        rows.append(
            row(
                THING,
                "rod",
                "{word} {names} {length} x {across}",
                word=say.rod,
                names=" ".join(rods),
                length=site.length(*site.rod),
                across=across,
            )
        )
    if bars:
        rows.append(row(THING, "bar", "{word} {names}", word=say.bar, names=" ".join(bars)))
    half = rng.randint(1, len(leads)) if rng.random() < 0.4 else len(leads)
    length = site.length(*site.lead)
    for group in (leads[:half], leads[half:]):
        if group:
            names = " ".join(group) if rng.random() < 0.5 else ranged(group)
            rows.append(
                row(
                    THING,
                    "lead",
                    "{word} {names} {size} {length}{grade} {dates}",
                    word=say.lead,
                    names=names,
                    size=size,
                    length=length,
                    grade=f" grade {grade}",
                    dates=dates,
                )
            )
    rows.append(
        row(
            THING,
            "detector",
            "{word} D1 for {low} to {high}{kind}",
            word=say.detector,
            low=low,
            high=high,
            kind=rng.choice(("", " contact", " proximity")),
        )
    )
    rows.append(row(THING, "tester", "{word} T1", word=say.tester))
    rows.append(
        row(
            THING,
            "stick",
            "{word} H1 H2 {length}",
            word=say.stick,
            length=site.length(*rng.choice(((8, 2.5), (10, 3)))),
        )
    )
    if site.bucket:
        rows.append(
            row(THING, "vehicle", "vehicle V1 {body} insulated", body=rng.choice(("bucket truck", "bucket", "lift")))
        )
    if rng.random() < 0.2:
        rng.shuffle(rows)
    return rows


def ranged(names: list[str]) -> str:
    """Names in a row as a range, ``G1 G2 G3`` as ``G1..G3``; numbers that do not follow break it."""
    out: list[list[str]] = []
    for name in names:
        if out and name[0] == out[-1][-1][0] and int(name[1:]) == int(out[-1][-1][1:]) + 1:
            out[-1].append(name)
        else:
            out.append([name])
    return " ".join(group[0] if len(group) == 1 else f"{group[0]}..{group[-1]}" for group in out)

"""A set of grounds at one structure: the steps that put it on and take it off, in one of the orders that are right."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from plan_rows import Row, step
from sound_sites import Site


@dataclass(frozen=True)
class Shape:
    """How every set of one kind in a plan is built, so that a routine can stand for all of them."""

    kind: str  # full, personal, one (a single lead from the bar), joined (no bar: phases joined to one another), none
    start: str  # bar, steel, neutral, phase: where the leads begin
    electrode: str  # rod, pole ground, steel, neutral
    topology: str  # chain, star, half
    order: tuple[str, ...]  # phases in the order that they are grounded in
    shield: bool
    gang: bool
    tests: str  # together, apart, none (tested before)
    tests_neutral: bool
    inspects: str  # first, late, none (inspected before)
    cleans: str  # all, each
    rod_first: bool
    rod_lead_whole: bool  # both ends in one step
    height: str
    stick_on_first: bool
    barricades: bool
    off_whole: bool
    tidy: bool  # barricades taken down


@dataclass(frozen=True)
class Names:
    """What one set is built of; in a routine, its parameters."""

    structure: str
    rod: str
    bar: str
    leads: tuple[str, ...]


def shape(site: Site, kind: str, *, tested: bool, inspected: bool) -> Shape:
    """A shape that is sound at this site."""
    rng: Random = site.rng
    steel = site.material == "steel"
    many = site.earthing == "multigrounded"
    electrode = "steel" if steel else "rod"
    if not steel and site.pole_grounds and rng.random() < 0.6:
        electrode = "pole ground"
    if not steel and many and rng.random() < 0.35:
        electrode = "neutral"
    start = "bar"
    bracket = kind == "full" and site.dual
    if kind == "full" and steel and not site.small and rng.random() < 0.3:
        start = "steel"
    elif kind == "full" and many and not site.small and not steel and (bracket or site.bucket) and rng.random() < 0.4:
        start, electrode = "neutral", "neutral"
    if kind == "joined":
        start, electrode = ("neutral" if site.neutral else "phase"), "neutral"
    topology = rng.choice(("chain", "star", "half"))
    if site.small and topology == "chain":
        topology = "half"
    order = list(site.phases)
    rng.shuffle(order)
    worksite = not site.dual or kind != "full"
    return Shape(
        kind=kind,
        start=start,
        electrode=electrode if kind == "full" else "none",
        topology=topology,
        order=tuple(order),
        shield=bool(site.shield) and (worksite or rng.random() < 0.5) and kind != "one",
        gang=start == "bar" and kind == "full" and rng.random() < 0.1,
        tests="none" if tested else rng.choice(("together", "together", "apart")),
        tests_neutral=not many or rng.random() < 0.2,
        inspects="none" if inspected else rng.choice(("first", "late")),
        cleans=rng.choice(("all", "each")),
        rod_first=rng.random() < 0.5,
        rod_lead_whole=rng.random() < 0.5,
        height=site.say.feet
        if worksite
        else rng.choice((site.say.feet, f"below {site.neutral or site.phases[0]}", "")),
        stick_on_first=rng.random() < 0.4,
        barricades=electrode == "rod",
        off_whole=rng.random() < 0.75,
        tidy=rng.random() < 0.4,
    )


def links(site: Site, form: Shape) -> list[tuple[str, str]]:
    """The leads as (ground side, line side), each a conductor's name, or ``start`` for where the set begins."""
    first, second, third = form.order
    begin = "start"
    if form.kind == "one":
        return [(begin, first)]
    found: list[tuple[str, str]] = []
    if form.start == "neutral":
        begin = site.neutral
    elif form.start == "phase":
        found += [(first, second), (second if form.topology == "chain" else first, third)]
        return [*found, (third, site.shield)] if form.shield else found
    elif site.neutral:
        found.append((begin, site.neutral))
    if form.topology == "star":
        found += [(begin, phase) for phase in form.order]
    elif form.topology == "half":
        found += [(begin, first), (first, second), (first, third)]
    else:
        found += [(site.neutral or begin, first), (first, second), (second, third)]
    if form.gang:
        found.append(
            next(link for link in found if link[0] == begin and link[1] != site.neutral)
            if form.topology != "chain"
            else found[0]
        )
    if form.shield:
        found.append((begin if form.topology != "chain" else third, site.shield))
    return found


def lead_count(site: Site, form: Shape) -> int:
    """Leads that one set takes."""
    return len(links(site, form)) + (form.electrode in ("rod", "pole ground"))


def _role(site: Site, name: str) -> str:
    return (
        "phase"
        if name in site.phases
        else "neutral"
        if name == site.neutral and name
        else "shield"
        if name == site.shield and name
        else "bar"
    )


def tests(site: Site, structure: str, conductors: list[str], *, apart: bool) -> list[Row]:
    """The tests of a structure's conductors, without their proofs."""
    rng, say = site.rng, site.say
    how = rng.choice((f" with D1 on H1{rng.choice(('', ' finding dead'))}", f" with D1 {say.by} H1"))
    groups = [[one] for one in conductors] if apart else [conductors]
    return [step("test", "test {at} {points}{how}", at=structure, points=" ".join(group), how=how) for group in groups]


def proven(site: Site, rows: list[Row]) -> list[Row]:
    """Tests between two proofs of the detector."""
    proofs = [step("prove", "prove {name}{on}", name="D1", on=" on T1", when=when) for when in ("before", "after")]
    return [proofs[0], *rows, proofs[1]]


def tested_conductors(site: Site, form: Shape) -> list[str]:
    """What is tested at a structure before the set goes on, in the plan's order of phases."""
    found = list(site.phases)
    if site.neutral and form.tests_neutral:
        found.append(site.neutral)
    if form.shield:
        found.append(site.shield)
    return found


def put_on(site: Site, form: Shape, names: Names) -> list[Row]:
    """The steps that put a set on."""
    if form.kind == "none":
        return []
    say = site.say
    at, bar, rod = names.structure, names.bar, names.rod
    begin = {"bar": bar, "steel": f"{at} steel"}.get(form.start, "")
    leads = list(names.leads)
    pairs = links(site, form)
    inspect = [step("inspect", "inspect {names}", names=" ".join(leads))]
    rod_rows: list[Row] = []
    late: list[Row] = []
    bond = ""
    if form.electrode in ("rod", "pole ground"):
        bond = leads.pop(0)
        ground = rod if form.electrode == "rod" else f"{at} {say.pole_ground}"
        if form.electrode == "rod":
            rod_rows.append(
                step(
                    "set",
                    "{word} {names} at {at}, {far} from the {noun}, {deep} deep",
                    word=say.set,
                    names=rod,
                    at=at,
                    far=site.length(*FAR),
                    noun="tower" if site.material == "steel" else "pole",
                    deep="?",
                )
            )
            rod_rows.append(
                step(
                    "barricade",
                    "barricade {names}{far}",
                    names=rod,
                    far=site.rng.choice((f", {site.length(15, 4.6)}", f", {site.length(16, 5)}")),
                )
            )
        if form.rod_lead_whole:
            late.append(
                step(
                    "attach",
                    "{word} {lead} to {first}, then to {second}{how2}",
                    word=say.attach,
                    lead=bond,
                    first=ground,
                    second=bar,
                    role="bar",
                    how1="",
                    how2="",
                    at=at,
                    kind=form.kind,
                )
            )
        else:
            rod_rows.append(
                step(
                    "attach",
                    "{word} {lead} to {first}",
                    word=say.attach,
                    lead=bond,
                    first=ground,
                    role="electrode",
                    how1="",
                    at=at,
                    kind=form.kind,
                )
            )
            late.append(
                step(
                    "attach",
                    "{word} {lead} to {first}",
                    word=say.attach,
                    lead=bond,
                    first=bar,
                    role="bar",
                    how1="",
                    at=at,
                    kind=form.kind,
                )
            )
    test_rows = (
        []
        if form.tests == "none"
        else proven(site, tests(site, at, tested_conductors(site, form), apart=form.tests == "apart"))
    )
    mount = (
        [
            step(
                "mount",
                "mount {bar} at {at}{height}",
                bar=bar,
                at=at,
                height=f" {form.height}" if form.height else "",
                kind=form.kind,
            )
        ]
        if form.start == "bar"
        else []
    )

    def point(name: str) -> str:
        return begin if name == "start" else f"{at} {name}"

    attaches: list[Row] = []
    cleaned: list[str] = []
    for lead, (one, other) in zip(leads, pairs, strict=True):
        bright = [
            "steel" if name == "start" else name for name in (one, other) if begin.endswith("steel") or name != "start"
        ]
        fresh = [name for name in bright if name not in cleaned]
        if form.cleans == "each" and fresh:
            attaches.append(step("clean", "clean {at} {points}", at=at, points=" ".join(fresh)))
        cleaned += fresh
        # a phase that only the brackets ground is as a line end, whichever end of the lead is on it
        stick = form.stick_on_first or (form.kind != "full" and one in site.phases)
        how1 = f" {say.by} H1" if stick and one != "start" else ""
        attaches.append(
            step(
                "attach",
                "{word} {lead} to {first}{how1}, then to {second}{how2}",
                word=say.attach,
                lead=lead,
                first=point(one),
                how1=how1,
                second=point(other),
                how2=f" {say.by} H1",
                role=_role(site, other),
                from_role=_role(site, one),
                at=at,
                kind=form.kind,
            )
        )
    clean = [step("clean", "clean {at} {points}", at=at, points=" ".join(cleaned))] if form.cleans == "all" else []
    body = [*rod_rows, *test_rows, *clean, *mount] if form.rod_first else [*test_rows, *mount, *rod_rows, *clean]
    if form.inspects == "first":
        body = [*inspect, *body]
    elif form.inspects == "late":
        at_first = next((place for place, one in enumerate(body) if one.verb == "attach"), len(body))
        if rod_rows and at_first < len(body):
            body = [*body[:at_first], *inspect, *body[at_first:]]
        else:
            late = [*inspect, *late]
    return [*body, *late, *attaches]


FAR = (16, 5)


def take_off(site: Site, form: Shape, names: Names, on: list[Row]) -> list[Row]:
    """The steps that take the set off, the last lead first and each line end before its ground end."""
    say = site.say
    rows: list[Row] = []
    ends: dict[str, list[tuple[str, str]]] = {}
    order: list[str] = []
    for one in on:
        if one.verb != "attach":
            continue
        lead = one["lead"]
        order = [other for other in order if other != lead] + [lead]
        ends.setdefault(lead, []).append((one["first"], one["how1"]))
        if one["second"]:
            ends[lead].append((one["second"], one["how2"]))
    for lead in reversed(order):
        (first, how1), (second, how2) = ends[lead]
        common = {
            "word": say.detach,
            "lead": lead,
            "role": next((one["role"] for one in on if one["lead"] == lead and one["second"] == second), "bar"),
            "at": names.structure,
            "kind": form.kind,
        }
        if form.off_whole:
            rows.append(
                step(
                    "detach",
                    "{word} {lead} from {second}{how2}, then from {first}{how1}",
                    **common,
                    first=first,
                    how1=how1,
                    second=second,
                    how2=how2,
                )
            )
        else:
            rows.append(step("detach", "{word} {lead} from {second}{how2}", **common, second=second, how2=how2))
            rows.append(step("detach", "{word} {lead} from {first}{how1}", **common, first=first, how1=how1))
    return [*rows, *cleared(form, names)]


def cleared(form: Shape, names: Names) -> list[Row]:
    """Bars dismounted; in a tidy plan, barricades taken down."""
    rows: list[Row] = []
    if form.start == "bar" and form.kind != "none":
        rows.append(step("dismount", "dismount {bar}", bar=names.bar))
    if form.electrode == "rod" and form.tidy:
        rows.append(step("unbarricade", "unbarricade {names}", names=names.rod))
    return rows

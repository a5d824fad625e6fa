"""Which structures are grounded for a job, how each set is built, and what of the stated equipment it is built of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from groundlint.drafting.grounds import Form, GroundSet, links
from groundlint.drafting.kit import Want, given_out
from groundlint.drafting.site import NoSuchJobError, Site
from groundlint.plan import models as m
from groundlint.values import Gap
from groundlint.values.units import Quantity, parse_quantity
from groundlint.words.rows import counted, names_together


class Place(NamedTuple):
    """A structure with how its set is built, if it has one; ``near`` where somebody works."""

    at: m.Structure
    form: Form | None
    near: bool


class Parts(NamedTuple):
    """What a set is built of, and how many leads it takes."""

    rod: m.Rod | None
    bar: m.Bar | None
    leads: int


class Beside(NamedTuple):
    """Steps for the vehicles at a structure: before its set, once the set has its bar, when the line ends are off, when
    the set is off."""

    before: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    last: tuple[str, ...] = ()


class Arrangement:
    """The sets of a job, by structure. ``lacks`` is equipment that they take and the plan does not state; with any,
    there are no sets. ``beside`` is what is done with vehicles."""

    def __init__(self, site: Site, works: Sequence[m.Structure]) -> None:
        self.site = site
        self.choices = site.choices
        self.works = sorted(works, key=lambda one: one.order or 0)
        self.tools = site.tools
        self.lacks: list[Gap] = []
        self.places = self._places()
        parts, wants = self._parts()
        leads = given_out(wants, site.of(m.Lead))
        if leads is None:
            self._lack_leads(wants)
        self.sets: dict[str, GroundSet] = {}
        self.beside: dict[str, Beside] = {}
        if leads is not None and not self.lacks:
            names = iter([str(one) for one in leads])
            for at, form, _ in self.places:
                if form is not None:
                    rod, bar, count = parts[at.name]
                    own = tuple(next(names) for _ in range(count))
                    self.sets[at.name] = GroundSet(form, at, own, rod, bar, self.tools, self.choices)
            self.beside = dict(self._vehicles(leads))

    # ------------------------------------------------------------- where, and how built
    def _places(self) -> list[Place]:
        """Brackets, then the places of work, each with its form."""
        route = self.site.plan.route
        rods = len(self.site.of(m.Rod))
        places: list[Place] = []
        if self.site.plan.method == "dual-point":
            first, last = (route.index(self.works[at]) for at in (0, -1))
            if first == 0 or last == len(route) - 1:
                end = self.works[0 if first == 0 else -1]
                raise NoSuchJobError(
                    f"{end} is an end of the route, so that no bracket stands beyond it: name the structure beyond it"
                    " in the route, or take another method"
                )
            if last - first >= 2 * len(self.works) - 1 and len(self.works) > 1:
                raise NoSuchJobError(
                    "the places of work are not side by side, and brackets hold for one stretch of line"
                )
            fed = {
                source.at for source in self.site.of(m.SupplySource)
            }  # a bracket stands between a source and the work
            between = (route[max(first - 1, 0)], route[min(last + 1, len(route) - 1)])
            spans = self.choices.bracket_spans if first == last and fed.isdisjoint(between) else 1
            ends = [route[max(first - spans, 0)], route[min(last + spans, len(route) - 1)]]
            places += [Place(at, self._form(at, near=False, rods=rods - n), False) for n, at in enumerate(ends)]
            rods -= sum(place.form is not None and place.form.electrode == "rod" for place in places)
        for at in self.works:
            form = self._form(at, near=True, rods=rods)
            rods -= form is not None and form.electrode == "rod"
            places.append(Place(at, form, True))
        return places

    def _form(self, at: m.Structure, *, near: bool, rods: int) -> Form | None:
        """How the set at a structure is built."""
        choices, plan, line, phases = self.choices, self.site.plan, self.site.line, self.site.phases()
        assert line is not None
        assert line.phases is not None
        neutral = line.neutral if isinstance(line.neutral, m.Conductor) else None
        shield = list(line.shield or ()) if near or choices.bracket_shield else []
        dual, bucket = plan.method == "dual-point", plan.access == "bucket"
        small = plan.small_neutral or line.neutral_duty == "too small for the fault"
        kind = choices.at_work if near and dual else "set"
        if kind in ("joined", "none") and (not bucket or (small and kind == "joined")):
            kind = "set"
        if kind == "none":
            return None
        at_hand = near and kind in ("set", "lead") and not (bucket and (choices.reach != "all" or kind == "lead"))
        steel = at.material == "steel" or (at.material is None and plan.access == "steel")
        many = neutral is not None and line.neutral_earthing == "multigrounded"
        between = near and dual  # the brackets are its electrodes
        electrode = "steel" if steel else "none" if between else self._electrode(at, many and not small, rods)
        bare = kind == "set" and not small and choices.bar == "where needed"
        start = "bar"
        if bare and steel:
            start = "steel"
        elif bare and many and not at_hand and not between:
            start, electrode = "neutral", "neutral"
        elif kind == "joined":
            if shield and steel and not many:  # grounded at the structure, and a ground end goes on first
                others = [] if neutral is None else [neutral]
                neutral, *shield = *shield, *others
            start = "neutral" if neutral is not None else "phase"
        if small and choices.leads == "chain":
            choices = replace(choices, leads="half")
        made = ((None, phases[0]),) if kind == "lead" else links(choices, start, phases, neutral, shield)
        metal: tuple[str, ...] = ()
        if at_hand and not steel:
            metal += ("pole ground",) * (at.pole_ground and electrode != "pole ground") + ("guy",) * at.guyed
        tested = list(line.phases)
        if neutral is not None and (not many or choices.test_neutral):
            tested.append(neutral)
        tested += [one for one in shield if any(one in link for link in made)]
        return Form(
            start=start,
            electrode=electrode,
            links=made,
            tested=tuple(tested),
            metal=metal,
            below=self._below(near, neutral or phases[0]),
            line_by_stick=between,
            pole_at_hand=at_hand,
            copies=2 if choices.side_by_side else 1,
        )

    def _electrode(self, at: m.Structure, neutral: bool, rods: int) -> str:
        """The electrode that is chosen, or the next that stands there."""
        there = {"rod": rods > 0, "pole ground": at.pole_ground, "neutral": neutral}
        order = (self.choices.electrode, "rod", "pole ground", "neutral")
        return next((one for one in order if there[one]), "rod")

    def _below(self, near: bool, lowest: m.Conductor) -> str:
        if near or self.choices.bracket_bar == "feet":
            return " below the feet"
        return f" below {lowest}" if self.choices.bracket_bar == "wire" else ""

    # ------------------------------------------------------------- what of
    def _parts(self) -> tuple[dict[str, Parts], list[Want]]:
        """The rod and bar of each set, and the leads that all want; what is not there is a gap."""
        rods, bars = self.site.of(m.Rod), self.site.of(m.Bar)
        away = _metres(self.tools.rod_away)
        found: dict[str, Parts] = {}
        wants: list[Want] = []
        driven = mounted = 0
        for at, form, _ in self.places:
            if form is None:
                continue
            rod = form.lead_to_electrode and form.electrode == "rod"
            own = [Want(away if rod else 0.0)] * form.lead_to_electrode
            for link in form.links:
                own += [Want(on=tuple(one for one in link if one is not None))] * form.copies
            own += [Want()] * len(form.metal)
            found[at.name] = Parts(
                rods[driven] if rod and driven < len(rods) else None,
                bars[mounted] if form.start == "bar" and mounted < len(bars) else None,
                len(own),
            )
            driven += rod
            mounted += form.start == "bar"
            wants += own
        self._lack("rod", driven, rods, "6 ft x 5/8 in")
        self._lack("bar", mounted, bars)
        return found, [*wants, *[Want()] * self.site.stands_bare()]

    def _lack(self, kind: str, taken: int, stated: Sequence[m.Thing], more: str = "") -> None:
        """A gap where more of a kind are taken than are stated."""
        if taken > len(stated):
            names = " ".join(further([one.name for one in stated], kind, taken - len(stated)))
            said = f"{len(stated)} stated" if stated else "none is stated"
            self.lacks.append(Gap(f"{counted(taken, kind)} for the sets: {said}", f"{kind} {names} {more}".strip()))

    def _lack_leads(self, wants: Sequence[Want]) -> None:
        leads, more = self.site.of(m.Lead), "2/0 copper 25 ft grade 3"
        self._lack("lead", len(wants), leads, more)
        if len(wants) <= len(leads):
            names = " ".join(further([one.name for one in leads], "lead", 1))
            why = "those stated are too short for the way to a rod, or their clamps are for another size"
            self.lacks.append(Gap(f"leads that fit what they join: {why}", f"lead {names} {more}"))

    # ------------------------------------------------------------- vehicles
    def _vehicles(self, leads: Sequence[m.Lead]) -> Iterator[tuple[str, Beside]]:
        """Of each place of work what is done with the vehicles: bonded with a lead to spare, or barricaded."""
        site, must = self.site, self.site.stands_bare()
        spare = [one for one in site.of(m.Lead) if one not in leads]
        rods = iter([one for one in site.of(m.Rod) if one not in [own.rod for own in self.sets.values()]])
        off = f" at {self.tools.vehicle_barricade}" if self.tools.vehicle_barricade else ""
        vehicles = sorted(site.of(m.Vehicle), key=lambda one: one is not site.bucket())
        for at in self.works:
            before: list[str] = []
            between: list[str] = []
            after: list[str] = []
            last: list[str] = []
            free = iter([*(leads[-1:] if must else ()), *spare])
            for place, vehicle in enumerate(vehicles):
                lead, start = next(free, None), self._start(at)
                bond = f"bond {vehicle} to"
                before.append(f"barricade {vehicle}{off}")
                bare = must and place == 0
                if start and lead is not None and (self.choices.vehicle == "bar" or bare):
                    brush = [f"clean {start}"] * (start == f"{at} steel" and self.choices.clean == "apart")
                    between += [f"inspect {lead}", *brush, f"{bond} {start} with {lead}{self.tools.by}"]
                    after.insert(0, f"unbond {vehicle}{self.tools.by}")
                elif self.choices.vehicle == "rod" and lead is not None and (rod := next(rods, None)) is not None:
                    driven = GroundSet.driven_at(at, rod, self.tools.rod_away)
                    before += [f"inspect {lead}", driven, f"{bond} {rod} with {lead} by hand", f"barricade {rod}{off}"]
                    last[:0] = [f"unbond {vehicle} by hand", *[f"unbarricade {rod}"] * self.choices.clear_away]
                last += [f"unbarricade {vehicle}"] * self.choices.clear_away
            yield at.name, Beside(tuple(before), tuple(between), tuple(after), tuple(last))

    def _start(self, at: m.Structure) -> str:
        """The bar or steel of a set, which a vehicle is joined to; empty where it has none."""
        one = self.sets.get(at.name)
        return one.point(None) if one is not None and one.form.start in ("bar", "steel") else ""


def further(names: Sequence[str], kind: str, count: int) -> list[str]:
    """Names for so many more things of a kind, counted on from those that there are."""
    stem = names[-1].rstrip("0123456789") if names else {"rod": "R", "bar": "K"}.get(kind, "G")
    digits = names[-1][len(stem) :] if names else ""
    first = int(digits or 0) + 1
    return names_together(f"{stem}{number}" for number in range(first, first + count))


def _metres(text: str | None) -> float:
    read = parse_quantity(text) if text else None
    return read.si if isinstance(read, Quantity) else 0.0

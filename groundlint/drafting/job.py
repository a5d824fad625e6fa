"""The steps of a job from the facts of a site: isolate, test, ground, work, remove, release.

What the facts do not settle is a choice (`Choices`); a fact that the steps need and the plan does not state is a gap,
and then there are no steps. The order is that of 29 CFR 1910.269(m) and (n); the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from groundlint.drafting.arrangement import Arrangement, Beside, Place
from groundlint.drafting.grounds import Form, GroundSet
from groundlint.drafting.policy import Choices
from groundlint.drafting.site import Site
from groundlint.plan import models as m
from groundlint.values import Gap
from groundlint.words.rows import names_together

OPEN = ("open", "normally open")
FROM_AFAR = ("remote", "automatic")
"""How an open point is worked that somebody or something closes without a look at it."""


class Stage(NamedTuple):
    """Steps under a heading."""

    title: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Job:
    """The steps of a plan: routines, then stages. With ``lacks`` there are none."""

    routines: tuple[tuple[str, tuple[str, ...]], ...] = ()
    stages: tuple[Stage, ...] = ()
    lacks: tuple[Gap, ...] = ()

    def lines(self) -> Iterator[str]:
        """The text, without layout, steps numbered."""
        for head, body in self.routines:
            yield ""
            yield head
            yield from (f"  {one}" for one in body)
        number = 0
        for stage in self.stages:
            yield ""
            yield f"stage {stage.title}"
            for one in stage.steps:
                number += 1
                yield f"  {number}. {one}"


def job(plan: m.Plan, works: Sequence[m.Structure], choices: Choices) -> Job:
    """The steps for work at some structures of the route, by the plan's method and from the place it says.

    Where the equipment is too little for what is chosen, with bars only where a set needs one, and with the neutral for
    an electrode. `NoSuchJobError` for what is not written here.
    """
    Site(plan, choices).refuse()
    if lacks := Site(plan, choices).lacks():
        return Job(lacks=tuple(lacks))
    fewer = replace(choices, bar="where needed")
    tried = [Arrangement(Site(plan, choices), works)]
    for less in (fewer, replace(fewer, electrode="neutral")):
        if tried[-1].lacks:
            tried.append(Arrangement(Site(plan, less), works))
    return Job(lacks=tuple(tried[0].lacks)) if tried[-1].lacks else _Writer(tried[-1]).job()


class _Writer:
    def __init__(self, arrangement: Arrangement) -> None:
        self.site, self.sets, self.places = arrangement.site, arrangement.sets, arrangement.places
        self.beside = arrangement.beside
        self.choices, self.tools = self.site.choices, arrangement.tools
        self.several = len(arrangement.works) > 1
        self.routines: list[tuple[str, tuple[str, ...]]] = []
        self.by_routine: dict[str, str] = {}

    def job(self) -> Job:
        choices = self.choices
        if choices.routines:
            self._make_routines()
        brackets = [place for place in self.places if not place.near]
        works = [place for place in self.places if place.near]
        stages = [Stage("isolate", tuple(self._isolate()))]
        held = f'hold "until {self.site.holder()} has looked over the grounds"'
        away: list[str] = []
        if choices.one_by_one and not brackets and self.several:
            for place in works:
                steps = (*self._on(place), held, *self._work(place), *self._off(place))
                stages.append(Stage(f'"work at {place.at}"', steps))
        else:
            stages.append(Stage("ground", tuple(step for place in self.places for step in self._on(place))))
            stages.append(Stage("work", (held, *(step for place in works for step in self._work(place)))))
            turn = -1 if choices.back == "in reverse" else 1
            away = [step for place in (*works[::turn], *brackets[::turn]) for step in self._off(place)]
        stages.append(Stage("remove" if away else "release", (*away, *self._release())))
        return Job(tuple(self.routines), tuple(stages))

    # ------------------------------------------------------------- sets
    def _make_routines(self) -> None:
        taken = {one.name for one in self.site.plan.things}
        near = {place.at.name: place.near for place in self.places}
        kinds: dict[tuple[Form, str, bool], list[GroundSet]] = {}
        for one in self.sets.values():
            deep = one.rod.place("length").text if one.rod is not None and one.rod.length is not None else ""
            kinds.setdefault((one.form, deep, near[one.at.name]), []).append(one)
        titles: list[str] = []
        for (_, deep, here), alike in kinds.items():
            title = "bracket" if not here else "personal" if len(near) > sum(near.values()) else "ground"
            titles.append(title + (str(len(titles) + 1) if title in titles else ""))
            stand = replace(alike[0], deep=deep).stand_in(taken)
            params = ", ".join(f"{kind} {name}" for kind, name in stand.parameters())
            self.routines.append((f"routine {titles[-1]} ({params})", tuple(stand.on())))
            self.by_routine |= {one.at.name: titles[-1] for one in alike}

    def _beside(self, at: m.Structure, *, with_set: bool) -> Beside:
        """The steps for vehicles: with the set, or, where they go on from one work to the next, with the work."""
        return self.beside.get(at.name, Beside()) if with_set is not self.several else Beside()

    def _on(self, place: Place) -> list[str]:
        beside, one = self._beside(place.at, with_set=True), self.sets.get(place.at.name)
        if one is None:
            return [*beside.before, *beside.between]
        if title := self.by_routine.get(place.at.name):
            given = ", ".join(name for _, name in one.parameters())
            return [*beside.before, f"do {title} ({given})", *beside.between]
        return [*beside.before, *one.on(beside.between)]

    def _off(self, place: Place) -> list[str]:
        beside, one = self._beside(place.at, with_set=True), self.sets.get(place.at.name)
        if one is None:
            return [*beside.after, *beside.last]
        title = self.by_routine.get(place.at.name)
        if title:  # what is beside a routine's set went on after it
            off = [f"undo {title} at {place.at}"] if self.choices.undo else one.off()
            return [*beside.after, *off, *beside.last, *one.cleared()]
        return [*one.off(beside.after), *beside.last, *one.cleared()]

    # ------------------------------------------------------------- stages
    def _isolate(self) -> Iterator[str]:
        choices, line, holder = self.choices, self.site.line, self.site.holder()
        if choices.briefing == "first":
            yield "brief all"
        if choices.ask:
            yield f"clearance {line} requested by {holder}"
        blocked = self.site.blocked()
        if blocked:
            yield f"block reclosing on {' '.join(map(str, blocked))}"
        for switch in self.site.switches():
            yield from self._opened(switch)
        yield f"clearance {line} received by {holder}"
        if choices.briefing == "cleared":
            yield "brief all"
        by = self.tools.by if self.tools.stick else ""
        for neighbour, goods in self.site.covers():
            yield f"cover {neighbour}{f' at {neighbour.at}' if neighbour.at is not None else ''} with {goods}{by}"
        for bank in self.site.of(m.Capacitor):
            yield f"disconnect capacitor {bank}"
            yield "wait 5 min"  # 29 CFR 1910.269(w)(2)(ii)
            yield f"discharge {bank}{self.tools.by}"
        if choices.inspect == "all first":
            yield f"inspect {' '.join(names_together(name for one in self.sets.values() for name in one.leads))}"
        if not self.tools.stick:
            yield self._gloves_on()
        if choices.test == "all first":
            yield from self.tools.tested([test for one in self.sets.values() for test in one.tests()])

    def _opened(self, switch: m.Switch) -> Iterator[str]:
        choices = self.choices
        found_open = switch.position in OPEN
        lock = not switch.no_lock and not (found_open and switch.locked)
        tag = not (found_open and switch.tagged)
        seen = switch.visible or (choices.gap == "seen" and not switch.hidden)
        if found_open:
            yield f"verify {switch} is open"
        else:
            with_lock, with_tag = lock and choices.lock == "with", tag and choices.tag == "with"
            more = (["gap seen"] if seen else []) + (["lock it"] if with_lock else [])
            more += ["tag it"] if with_tag else []
            more += [f"by {self.site.holder()}"] if choices.opened_by == "holder" else []
            yield f"open {switch}" + (f", {', '.join(more)}" if more else "")
            lock, tag = lock and not with_lock, tag and not with_tag
            if not seen:
                yield f"verify {switch} is open"
        if lock:
            yield f"lock {switch}"
        if tag:
            yield f"tag {switch}"
        if switch.worked in FROM_AFAR:
            stays = switch.control_stays
            yield f"tag control of {switch}" if stays else f"disable control of {switch} and tag it"

    def _work(self, place: Place) -> Iterator[str]:
        choices, at = self.choices, place.at
        climbers = " ".join(map(str, self.site.climbers()))
        gloved = choices.gloves or self.tools.stick is None
        beside = self._beside(at, with_set=False)
        yield from (*beside.before, *beside.between)
        if gloved and self.tools.stick:
            yield self._gloves_on()
        yield f"enter {climbers} at {at} {self._stand()}, reaching {' '.join(self._reach(place))}"
        below = self.site.people("groundman")[:1] if choices.watch else []
        earthed = at.material == "steel" or at.pole_ground
        off = self.site.length("", "20 ft", "6 m")
        if below:
            if earthed:
                yield f"barricade {at} at {off}"
            yield f"enter {below[0]} at {at} on the ground, reaching nothing"
        if gloved:
            yield f"gloves off {climbers}"
        yield f'work "{self.site.plan.title or "the work itself"}"'
        if not self.tools.stick:
            yield self._gloves_on()
        yield f"leave {climbers}" + (f" {below[0]}" if below else "")
        if below and earthed and choices.clear_away:
            yield f"unbarricade {at}"
        yield from (*beside.after, *beside.last)

    def _gloves_on(self) -> str:
        gloves = self.site.gloves()
        return f"gloves on {' '.join(map(str, self.site.climbers()))}" + (f" with {gloves[0]}" if gloves else "")

    def _stand(self) -> str:
        if self.site.plan.access == "bucket":
            return f"in {self.site.bucket()}"
        return "on the steel" if self.site.plan.access == "steel" else "on the pole"

    def _reach(self, place: Place) -> list[str]:
        line, at, form = self.site.line, place.at, place.form
        assert line is not None
        if form is None or len(form.links) == 1:
            reach = [str(self.site.phases()[0])]
        else:
            joined = [one for one in line.conductors if one in form.grounded]
            reach = [str(one) for one in joined if self.choices.reach == "all" or one.role == "phase"]
        if form is None or not form.pole_at_hand:
            return reach
        if at.material == "steel":
            return [*reach, "steel"]
        return [*reach, *["pole ground"] * at.pole_ground, "pole", *["guy"] * at.guyed]

    def _release(self) -> Iterator[str]:
        choices, opened = self.choices, self.site.switches()
        if not self.tools.stick:
            yield f"gloves off {' '.join(map(str, self.site.climbers()))}"
        if choices.clear_away:
            by = self.tools.by if self.tools.stick else ""
            yield from (f"uncover {neighbour}{by}" for neighbour, _ in self.site.covers())
        yield f"clearance {self.site.line} released by {self.site.holder()}"
        if choices.after == "nothing":
            return
        yield from (f"untag {switch}" for switch in reversed(opened))
        yield from (f"enable control of {switch}" for switch in opened if switch.worked in FROM_AFAR)
        if choices.after == "untag":
            return
        by = f" by {self.site.holder()}" if choices.opened_by == "holder" else ""
        yield from (f"close {switch}{by}" for switch in reversed(opened) if switch.position not in OPEN)
        if blocked := self.site.blocked():
            yield f"unblock reclosing on {' '.join(map(str, blocked))}"

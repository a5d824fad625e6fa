"""A set of grounds at one structure: the steps that put it on and take it off, in an order that is right.

Electrode and bar before conductors, the ground end of each lead first, line ends by stick, and the reverse to take it
off: 29 CFR 1910.269(n)(6). The rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from groundlint.drafting.policy import Choices
from groundlint.plan.models import Bar, Conductor, PointRef, Rod, Structure
from groundlint.words.rows import names_together


@dataclass(frozen=True)
class Tools:
    """What every set is put on with: sticks, None for hands in gloves; detectors and what proves them. Lengths as
    text, None where they are left open."""

    stick: str | None
    test_stick: str | None
    detectors: tuple[str, ...]
    tester: str
    rod_away: str | None
    rod_barricade: str | None
    vehicle_barricade: str | None

    @property
    def by(self) -> str:
        """How a line end goes on."""
        return f" by {self.stick}" if self.stick else " by hand"

    def tested(self, tests: Sequence[str]) -> list[str]:
        """Tests with each detector, between two proofs of it."""
        how = f" on {self.test_stick}" if self.test_stick else " by hand"
        return [
            step
            for detector in self.detectors
            for proof in (f"prove {detector} on {self.tester}",)
            for step in (proof, *(f"test {one} with {detector}{how}" for one in tests), proof)
        ]


@dataclass(frozen=True)
class Form:
    """How a set is built; sets of one form are alike but for their names.

    ``start`` is where its leads begin: bar, steel, neutral, phase. ``electrode``: rod, pole ground, steel, neutral.
    ``links`` join conductors, None for the start; ``metal`` is what else in reach is joined to the bar.
    """

    start: str
    electrode: str
    links: tuple[tuple[Conductor | None, Conductor], ...]
    tested: tuple[Conductor, ...]
    metal: tuple[str, ...] = ()
    below: str = ""
    line_by_stick: bool = False  # a phase is as a line end, whichever end of a lead is on it
    pole_at_hand: bool = False  # whoever works there has the pole, or its steel, in reach
    copies: int = 1  # leads side by side

    @property
    def grounded(self) -> tuple[Conductor, ...]:
        """Conductors that it joins."""
        return tuple(dict.fromkeys(one for link in self.links for one in link if one is not None))

    @property
    def lead_to_electrode(self) -> bool:
        """An electrode that a lead goes to from the bar."""
        return self.start == "bar" and self.electrode in ("rod", "pole ground")


def links(
    choices: Choices, start: str, phases: Sequence[Conductor], neutral: Conductor | None, shield: Sequence[Conductor]
) -> tuple[tuple[Conductor | None, Conductor], ...]:
    """The leads between conductors, each with its ground side first; None is where the set begins."""
    found: list[tuple[Conductor | None, Conductor]] = []
    begin: Conductor | None = None
    first, *others = phases
    if start == "neutral":
        begin = neutral
    elif start == "phase":
        begin = first
        phases = others
    elif neutral is not None:
        found.append((None, neutral))
    kind = "half" if start == "phase" and choices.leads == "star" else choices.leads
    root = neutral if kind == "chain" and start == "bar" and neutral is not None else begin
    if start == "phase":
        found += [((phases[at - 1] if kind == "chain" and at else first), one) for at, one in enumerate(phases)]
    elif kind == "star":
        found += [(begin, one) for one in phases]
    else:
        found.append((root, first))
        found += [((phases[at] if kind == "chain" else first), one) for at, one in enumerate(others)]
    last = phases[-1] if phases else first
    return (*found, *((last if kind == "chain" or start == "phase" else begin, one) for one in shield))


class End(NamedTuple):
    """An end of a lead: its point in words, and how it goes on."""

    point: str
    how: str = ""


@dataclass(frozen=True)
class GroundSet:
    """A form at a structure, with what it is built of; in a routine, with stand-ins for that."""

    form: Form
    at: Structure
    leads: tuple[str, ...]
    rod: Rod | None
    bar: Bar | None
    tools: Tools
    choices: Choices
    deep: str = ""  # the rod's depth in words

    # ------------------------------------------------------------- parts
    def point(self, conductor: Conductor | None) -> str:
        """A conductor here, or where the set begins."""
        if conductor is not None:
            return str(PointRef("conductor", self.at, conductor))
        return str(self.bar) if self.form.start == "bar" else f"{self.at} steel"

    @property
    def _ground(self) -> str:
        return str(self.rod) if self.form.electrode == "rod" else f"{self.at} pole ground"

    def _joints(self) -> Iterator[tuple[str, End, End, tuple[str, ...]]]:
        """Each lead with its ends in order, and what is brushed for them; the electrode's first."""
        form, left = self.form, iter(self.leads)
        if form.lead_to_electrode:
            yield next(left), End(self._ground), End(str(self.bar)), ()
        for one, other in form.links:
            for _ in range(form.copies):
                stick = one is not None and (
                    self.choices.stick == "both ends" or (form.line_by_stick and one.role == "phase")
                )
                bright = [str(end) for end in (one, other) if end is not None]
                if one is None and form.start == "steel":
                    bright.insert(0, "steel")
                by = self.tools.by if stick or (one is not None and not self.tools.stick) else ""
                yield next(left), End(self.point(one), by), End(self.point(other), self.tools.by), tuple(bright)
        for feature in form.metal:
            yield next(left), End(str(self.bar)), End(f"{self.at} {feature}", self.tools.by), (feature,)

    def tests(self) -> list[str]:
        """Its conductors as they are tested, one step's each."""
        names = [str(one) for one in self.form.tested]
        groups = [[one] for one in names] if self.choices.points == "apart" else [names]
        return [f"{self.at} {' '.join(group)}" for group in groups]

    # ------------------------------------------------------------- on and off
    def on(self, between: Sequence[str] = ()) -> list[str]:
        """The steps that put it on; ``between`` are steps to be done once it has its bar and electrode."""
        form, choices, tools = self.form, self.choices, self.tools
        looked = [f"inspect {' '.join(names_together(self.leads))}"] if choices.inspect != "all first" else []
        joints = list(self._joints())
        electrode, late = [], []
        if form.lead_to_electrode:
            lead, ground, bar, _ = joints.pop(0)
            brush = [f"clean {self.at} pole ground"] if form.electrode == "pole ground" else []
            if self.rod is not None:
                electrode.append(self.driven_at(self.at, self.rod, tools.rod_away, self.deep))
                electrode.append(f"barricade {self.rod}{_at(tools.rod_barricade)}")
            if choices.electrode_lead == "in one step":
                late += [*brush, f"attach {lead} to {ground.point}, then to {bar.point}"]
            else:
                electrode += [*brush, f"attach {lead} to {ground.point}"]
                late.append(f"attach {lead} to {bar.point}")
        mount = [f"mount {self.bar} at {self.at}{form.below}"] if form.start == "bar" else []
        tested = tools.tested(self.tests()) if choices.test == "each set" else []
        brushed = list(dict.fromkeys(one for *_, bright in joints for one in bright))
        clean = [f"clean {self.at} {' '.join(brushed)}"] if choices.clean == "together" and brushed else []
        clamps: list[str] = []
        for lead, first, second, bright in joints:
            fresh = [one for one in bright if one in brushed]
            if choices.clean == "apart" and fresh:
                clamps.append(f"clean {self.at} {' '.join(fresh)}")
            brushed = [one for one in brushed if one not in fresh]
            clamps.append(f"attach {lead} to {first.point}{first.how}, then to {second.point}{second.how}")
        body = [*tested, *mount, *electrode, *clean]
        if choices.electrode_first:
            body = [*electrode, *tested, *mount, *clean]
        if choices.inspect == "each set":
            body = [*looked, *body]
        elif choices.inspect == "before the clamps":
            at = next((place for place, one in enumerate(body) if one.startswith("attach ")), len(body))
            body[at:at] = looked
        return [*body, *late, *between, *clamps]

    @staticmethod
    def driven_at(at: Structure, rod: Rod, away: str | None, deep: str = "") -> str:
        """The step that drives a rod at a structure, to its stated length where no other depth is said."""
        off = f", {away} from the {'tower' if at.material == 'steel' else 'pole'}" if away else ""
        deep = deep or (rod.place("length").text if rod.length is not None else "")
        return f"set {rod} at {at}{off}" + (f", {deep} deep" if deep else "")

    def off(self, between: Sequence[str] = ()) -> list[str]:
        """The steps that take its leads off, the last first, and the line end of each before its ground end; with
        ``between`` before the lead to the electrode."""
        steps: list[str] = []
        for place, (lead, first, second, _) in reversed(list(enumerate(self._joints()))):
            ends = [f"from {end.point}{end.how}" for end in (second, first)]
            if place == 0 and self.form.lead_to_electrode:
                steps += between
                between = ()
            if self.choices.off == "whole":
                steps.append(f"detach {lead} {', then '.join(ends)}")
            else:
                steps += [f"detach {lead} {end}" for end in ends]
        return [*steps, *between]

    def cleared(self) -> list[str]:
        """What comes away once the leads are off."""
        bar = [f"dismount {self.bar}"] if self.form.start == "bar" else []
        return [*bar, *[f"unbarricade {self.rod}"] * (self.rod is not None and self.choices.clear_away)]

    def stand_in(self, taken: set[str]) -> GroundSet:
        """The same with parameters of a routine in place of its names; names that are taken are not used."""

        def free(name: str) -> str:
            while name in taken:
                name += "x"
            return name

        letters = (free(one) for one in "abcdefghijklmnopqrstuvwyz")
        return replace(
            self,
            at=replace(self.at, name=free("S")),
            rod=self.rod and replace(self.rod, name=free("R")),
            bar=self.bar and replace(self.bar, name=free("K")),
            leads=tuple(next(letters) for _ in self.leads),
        )

    def parameters(self) -> list[tuple[str, str]]:
        """Names that a routine takes, by kind."""
        found = [("structure", self.at.name)]
        found += [("rod", self.rod.name)] if self.rod is not None else []
        found += [("bar", self.bar.name)] if self.bar is not None else []
        return [*found, ("leads", " ".join(self.leads))]


def _at(distance: str | None) -> str:
    return f" at {distance}" if distance else ""

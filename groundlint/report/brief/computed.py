"""The electrical results of a reviewed plan, put into the form that the briefing shows. It computes nothing itself.

Each value keeps its bounds; the safe end of a value is never shown for the whole of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from groundlint.facts import PlanTrace
from groundlint.plan.models import Lead, Person, PointRef, Rod, SupplySource
from groundlint.report.brief.results import NOT_COMPUTED, Assumed, Computed, Duty, Electrical, Exposure, Value, gravity
from groundlint.steps.saying import point_words
from groundlint.values import Unknown
from groundlint.values.bounds import gaps_of
from groundlint.words.quantities import in_words, rounded

NEVER_ON = Unknown.of("no step puts it on with both ends")


@dataclass(frozen=True)
class Limit:
    """What a worker's voltage is held against: a criterion of the electrical stage, and a body's resistance in ohm."""

    criterion: str = "dalziel-50kg"
    body: float = 1000.0

    @property
    def words(self) -> str:
        """Where the limit comes from."""
        from groundlint.electrical.physics.body import CRITERIA

        criterion = CRITERIA[self.criterion]
        through = "" if criterion.quantity == "voltage" else f", through {self.body:g} ohm of body"
        return f"{criterion.meaning}{through}; {criterion.source}"


def electrical_of(trace: PlanTrace, limit: Limit | None = None) -> Electrical:
    """All that was computed of a plan; what could not be is `Unknown`, with the reason."""
    return _Gathering(trace, limit or Limit()).all()


class _Gathering:
    """One plan's results being put together; ``named`` gathers the facts that narrowing them would take."""

    def __init__(self, trace: PlanTrace, limit: Limit) -> None:
        self.trace = trace
        self.limit = limit
        self.feet = trace.plan.in_feet
        self.named: dict[str, None] = {}

    def all(self) -> Electrical:
        """Everything, or why there is nothing."""
        trace = self.trace
        study = trace.study
        if isinstance(study, Unknown):
            return Electrical(missing=f"{NOT_COMPUTED.missing}: {study.gaps[0].fact} is not stated")
        if not trace.sources:
            return Electrical(missing=f"{NOT_COMPUTED.missing}: no source is stated")
        exposures = tuple(self._exposures())
        duties = tuple(self._duties())
        computed = (*self._sources(), *self._rods())
        return Electrical(exposures, duties, computed, tuple(self._assumed()), limit=self.limit.words)

    def _note(self, *values: object) -> None:
        self.named.update(dict.fromkeys(gap.fact for gap in gaps_of(*values)))

    def _said(self, value: Value, unit: str) -> str | Unknown:
        """A value in words, its bounds with it; `Unknown` stays what it is."""
        return value if isinstance(value, Unknown) else in_words(value, unit, self.feet)

    # ---- people ----

    def _exposures(self) -> Iterator[Exposure]:
        timeline = self.trace.timeline
        for at in range(timeline.n + 1):
            for person in timeline.people_in_place(at):
                for source in self.trace.sources:
                    yield self._exposure(person, source, at)

    def _exposure(self, person: Person, source: SupplySource, at: int) -> Exposure:
        from groundlint.electrical.physics.body import CRITERIA
        from groundlint.electrical.study.results import body_limit, over

        found = self.trace.exposure(person, source, at)
        if found is None or isinstance(found, Unknown):
            why = found or Unknown.of(f"where {person} is")
            return Exposure(person.name, at, why, why, source.name)
        limit: Value = body_limit(self.limit.criterion, found.time)
        loading = found.needed(self.limit.criterion)
        if CRITERIA[self.limit.criterion].quantity != "voltage":
            limit = over(limit, lambda current: current * self.limit.body)
            loading = over(loading, lambda ohms: ohms / self.limit.body)
        self._note(found.voltage, limit)
        if isinstance(found.voltage, Unknown):  # of a value that is not known, no way and no pair is the worst
            return Exposure(person.name, at, found.voltage, limit, source.name)
        return Exposure(
            person.name,
            at,
            found.voltage,
            limit,
            _returning(source, found.way),
            _pair(found.pair),
            loading,
        )

    # ---- leads ----

    def _duties(self) -> Iterator[Duty]:
        for lead in self.trace.all(Lead):
            yield max((self._duty(lead, source) for source in self.trace.sources), key=lambda one: gravity(one.share))

    def _duty(self, lead: Lead, source: SupplySource) -> Duty:
        found = self.trace.lead_duty(lead, source)
        if found is None or isinstance(found, Unknown):
            why = found or NEVER_ON
            return Duty(lead.name, why, why, source=source.name)
        if isinstance(found.duty, Unknown):
            return Duty(lead.name, found.duty, found.rating, source=source.name, basis=found.basis)
        self._note(found.duty, found.rating)
        return Duty(
            lead.name,
            found.duty,
            found.rating,
            found.at - 1,
            _returning(source, found.way)
            + (f"; largest share: {_returning(source, found.apart)}" if found.apart else ""),
            found.basis,
            loading=found.loading,
        )

    # ---- sources and rods ----

    def _sources(self) -> Iterator[Computed]:
        timeline = self.trace.timeline
        at = max(range(timeline.n + 1), key=lambda one: (len(timeline.people_in_place(one)), -one))
        for source in self.trace.sources:
            found = self.trace.clearing(source, at)
            if isinstance(found, Unknown):
                yield Computed(f"fault from {source} while the work is done", found)
                continue
            values = (
                ("least fault current", found.least, "A", "network solution"),
                ("that as a share of the bolted fault", found.share, "%", ""),
                ("time in which it clears", found.time, "s", "as stated, or by the relay's curve"),
            )
            for what, value, unit, equation in values:
                self._note(value)
                yield Computed(
                    f"{source} while the work is done: {what}",
                    self._said(value, unit),
                    equation,
                    _returning(source, found.way),
                )

    def _rods(self) -> Iterator[Computed]:
        for rod in self.trace.all(Rod):
            ohms = self.trace.rod_ohms(rod)
            self._note(ohms)
            dwight = "Dwight, one rod; two layers of soil by images"
            yield Computed(f"resistance of rod {rod}", self._said(ohms, "ohm"), dwight, "soil as stated")
            results = [(source, self.trace.rod_result(rod, source)) for source in self.trace.sources]
            known = [(source, one) for source, one in results if one is not None and not isinstance(one, Unknown)]
            for source, one in known:
                self._note(one.current, one.rise, one.keep_away)
                by = _returning(source, one.way)
                yield Computed(f"{rod}: current into the earth", self._said(one.current, "A"), "network solution", by)
                yield Computed(f"{rod}: rise over remote earth", self._said(one.rise, "V"), "network solution", by)
                step = "step of 1 m on bare soil within 0.116/sqrt(t), IEEE 80-2000"
                yield Computed(f"{rod}: keep people away", self._said(one.keep_away, "m"), step, by)

    # ---- assumptions ----

    def _assumed(self) -> Iterator[Assumed]:
        from groundlint.electrical.study.assumptions import ASSUMPTIONS

        plan = self.trace.plan
        study = self.trace.study
        used = {} if isinstance(study, Unknown) else study.site.register.used
        for name, row in {**ASSUMPTIONS, **used}.items():
            if row.gap.fact in self.named:
                source = row.source if row.how.value in row.source else f"{row.source} ({row.how.value})"
                low, high = (f"{_in_unit(value, row.unit)} {row.unit}".strip() for value in row.bounds)
                yield Assumed(name.replace("-", " "), low, high, row.reason, source)
        for name, value in plan.measured.items():
            row = ASSUMPTIONS[name]
            stated = f"{_in_unit(value, row.unit)} {row.unit}".strip()
            yield Assumed(f"{name.replace('-', ' ')} (measured)", stated, stated, "as the plan states", "the plan")


_FACTORS = {"mohm": 1e3, "%": 1e2}


def _in_unit(value: float, unit: str) -> str:
    return rounded(value * _FACTORS.get(unit, 1.0))


def _returning(source: SupplySource, way: str) -> str:
    """A source with the way in which it returns: `Hobnail on A and B`, `Hobnail three-phase`."""
    return f"{source} {way}".strip() if way in ("", "three-phase") else f"{source} on {way}"


def _pair(pair: tuple[PointRef, PointRef] | None) -> str:
    return " and ".join(point_words(point) for point in pair) if pair is not None else "nothing apart"


def limit_of(settings: Iterable[tuple[str, object]]) -> Limit:
    """The limit that a book sets, from its settings by name (words, and quantities in SI); the usual one where none
    does."""
    from groundlint.electrical.physics.body import CRITERIA

    found = dict(settings)
    usual = Limit()
    name = str(found.get("exposure-limit"))
    criterion = CRITERIA.get(name, CRITERIA[usual.criterion])
    setting = "body-resistance" if criterion.body == usual.body else "body-resistance-osha"
    body = found.get(setting, criterion.body)
    return Limit(
        criterion.name,
        float(body) if isinstance(body, (int, float)) and math.isfinite(body) else criterion.body,
    )


__all__ = ["Limit", "electrical_of", "limit_of"]

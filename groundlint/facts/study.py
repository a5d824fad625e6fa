"""The electrical study of a trace, made when the first computed fact is asked, and its results kept."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from groundlint.facts.catalogue import LaterError
from groundlint.plan.models import Lead, ParallelCircuit, Person, Plan, Rod, SupplySource
from groundlint.values import Bounds, Unknown
from groundlint.world.logs import READING

if TYPE_CHECKING:
    from groundlint.electrical.study.results import Clearing, Exposure, LeadDuty, RodResult
    from groundlint.electrical.study.study import Study
    from groundlint.timeline import Timeline


class Studied:
    """What a `PlanTrace` has of the electrical stage. Everything is worked out once for each thing asked."""

    timeline: Timeline
    plan: Plan
    computes: bool = True
    """Whether the circuit is solved when it is asked; else whatever asks it is left for later."""

    @cached_property
    def study(self) -> Study | Unknown:
        """The plan's circuit at every step, solved; `Unknown` where the plan has no line. Raises `LaterError` where it
        is left for later."""
        if not self.computes:
            raise LaterError
        from groundlint.electrical.study.study import study_of

        return study_of(self.timeline)

    @cached_property
    def _results(self) -> dict[tuple[Any, ...], Any]:
        return {}

    def _result(self, name: str, *asked: Any) -> Any:
        key = (name, *asked)
        if key not in self._results:
            from groundlint.electrical.study import results

            study = self.study
            self._results[key] = study if isinstance(study, Unknown) else getattr(results, name)(study, *asked)
        return self._results[key]

    def _result_at(self, name: str, at: int, *asked: Any) -> Any:
        READING.only(at)
        return self._result(name, *asked, at)

    def lead_duty(self, lead: Lead, source: SupplySource) -> LeadDuty | Unknown | None:
        """What a returning source asks of a lead, worst over the steps."""
        found: LeadDuty | Unknown | None = self._result("lead_duty", lead, source)
        return found

    def clamp_loading(self, lead: Lead, source: SupplySource) -> float | Bounds | Unknown | None:
        """Duty of a lead's clamps over their rating, worst over the steps."""
        found: float | Bounds | Unknown | None = self._result("clamp_loading", lead, source)
        return found

    def exposure(self, person: Person, source: SupplySource | ParallelCircuit, at: int) -> Exposure | Unknown | None:
        """The worst voltage across a person at a step while a source returns, or a fault is on a circuit beside."""
        if self.timeline.stand(at, person) is None:
            return None
        found: Exposure | Unknown | None = self._result_at("exposure", at, person, source)
        return found

    def rod_result(self, rod: Rod, source: SupplySource) -> RodResult | Unknown | None:
        """A rod while a source returns, worst over the steps."""
        found: RodResult | Unknown | None = self._result("rod_result", rod, source)
        return found

    def rod_ohms(self, rod: Rod) -> float | Bounds | Unknown:
        """Resistance of a rod as set, ohm."""
        found: float | Bounds | Unknown = self._result("rod_ohms", rod)
        return found

    def clearing(self, source: SupplySource, at: int) -> Clearing | Unknown:
        """How a source's device sees the line at a step."""
        found: Clearing | Unknown = self._result_at("clearing", at, source)
        return found

    def induced_current(self, person: Person, circuit: ParallelCircuit, at: int) -> float | Bounds | Unknown | None:
        """Steady current through a person by induction, A, for the body resistance of the register of assumptions."""
        if self.timeline.stand(at, person) is None:
            return None
        found: float | Bounds | Unknown | None = self._result_at("induced_current", at, person, circuit)
        return found

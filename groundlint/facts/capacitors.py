"""Facts about capacitors: whether they are off the line, how long since, and whether what they held is gone."""

from __future__ import annotations

from groundlint.facts.answers import Answer, by_change, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Capacitor, Structure
from groundlint.values import Unknown


@fact(
    "structure",
    "capacitor",
    returns="structure",
    timed=False,
    lines=where_stated("at"),
    meaning="the structure that it is on",
)
def structure_of_capacitor(_case: PlanTrace, _at: int, capacitor: Capacitor) -> Structure | Unknown:
    if capacitor.at is None:
        return Unknown.of(f"where capacitor {capacitor} is", f"capacitor {capacitor} at 212", capacitor.span)
    return capacitor.at


@fact(
    "disconnected",
    "capacitor",
    lines=by_change("disconnected"),
    meaning="a step has disconnected it or opened its own open points, and none has put it back",
)
def disconnected(case: PlanTrace, at: int, capacitor: Capacitor) -> Answer:
    if case.timeline.disconnected(at, capacitor) is not None:
        return True
    unstated = case.timeline.unstated_capacitor(at, "disconnect")
    return False if unstated is None else Unknown((unstated,))


@fact(
    "discharged",
    "capacitor",
    lines=by_change("discharged"),
    meaning="it was short-circuited and grounded after it was disconnected",
)
def discharged(case: PlanTrace, at: int, capacitor: Capacitor) -> Answer:
    if case.timeline.discharged(at, capacitor) is not None:
        return True
    unstated = case.timeline.unstated_capacitor(at, "discharge")
    return False if unstated is None else Unknown((unstated,))


@fact(
    "time-since-disconnected",
    "capacitor",
    returns="time",
    unit="min",
    lines=by_change("disconnected"),
    meaning="the waits that steps state since it was disconnected, added up; none while it is connected",
)
def time_since_disconnected(case: PlanTrace, at: int, capacitor: Capacitor) -> float | Unknown | None:
    since = case.timeline.disconnected(at, capacitor)
    if since is None:
        unstated = case.timeline.unstated_capacitor(at, "disconnect")
        return None if unstated is None else Unknown((unstated,))
    before, now = case.timeline.waited(since), case.timeline.waited(at)
    if now.unstated > before.unstated and now.gap is not None:
        return Unknown((now.gap,))
    return now.seconds - before.seconds

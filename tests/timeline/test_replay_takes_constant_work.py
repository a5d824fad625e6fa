"""Work a step does not grow with the length of the plan."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from groundlint.timeline import replay
from groundlint.values import TRUE


def job(site: Any, rounds: int) -> Any:
    """A line of 40 structures; grounds go on and come off at one structure after another, as the crew moves along."""
    made = site(" ".join(str(i) for i in range(40)), switch={"position": "open"}, source={})
    for turn in range(rounds):
        s = turn % 40
        made.do("test", point=f"{s} A", detector="D1", stick="H1", result="dead")
        made.do("mount", bar="K1", structure=str(s))
        ways = (
            ("G1", "K1", f"{s} N"),
            ("G2", f"{s} N", f"{s} A"),
            ("G3", f"{s} A", f"{s} B"),
            ("G4", f"{s} B", f"{s} C"),
        )
        for lead, one, other in ways:
            made.attach(lead, one, other)
        for lead, one, other in reversed(ways):
            made.detach(lead, other, one)
        made.do("dismount", bar="K1")
    return made


@pytest.mark.slow
def test_work_a_step_is_the_same_for_two_hundred_steps_and_for_two_thousand(
    site: Any, calls: Callable[[Callable[[], object]], int]
) -> None:
    def a_step(rounds: int) -> float:
        plan = job(site, rounds).plan()
        return calls(lambda: replay(plan)) / len(plan.actions)

    assert a_step(210) < 1.2 * a_step(20)


def test_a_long_job_ends_as_it_began(site: Any) -> None:
    made = job(site, 60)
    timeline = made.run()
    assert timeline.problems == ()
    a, b = made.point("7 A"), made.point("33 B")
    on = [at for at in range(timeline.n + 1) if timeline.joined(at, a, b) is TRUE]
    assert 0 not in on
    assert timeline.n not in on
    assert len(on) == 60 * 5  # from the second end of G3 until G3's first end comes off again

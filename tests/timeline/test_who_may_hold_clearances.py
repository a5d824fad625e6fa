"""Who holds clearances, beside every way in which steps that name nobody can be meant."""

from __future__ import annotations

from collections import Counter
from itertools import product

from hypothesis import example, given, settings
from hypothesis import strategies as st

from groundlint.world.holdings import RECEIVED, UNSETTLED, Holdings

PEOPLE = ("L1", "Night")
MEANT = (*PEOPLE, "somebody else")
Step = tuple[str, str | None, str | None]

kinds = st.sampled_from(["receive", "release", "transfer"])
names = st.sampled_from([*PEOPLE, None])


def held(script: list[Step]) -> Counter[str]:
    """How many each holds, where every step names somebody."""
    found: Counter[str] = Counter()
    for kind, holder, taker in script:
        assert holder is not None
        assert taker is not None
        if kind == "receive":
            found[holder] += 1
        elif found[holder]:
            found[holder] -= 1
            if kind == "transfer":
                found[taker] += 1
    return found


def ways(script: list[Step]) -> list[Counter[str]]:
    """What each holds in the end, for each way in which nobody named can be somebody."""
    slots = [name for kind, holder, taker in script for name in ((holder, taker) if kind == "transfer" else (holder,))]
    found = []
    for meant in product(*(MEANT if name is None else (name,) for name in slots)):
        left = iter(meant)
        found.append(held([(kind, next(left), next(left) if kind == "transfer" else "") for kind, *_ in script]))
    return found


def run(script: list[Step]) -> Holdings:
    holdings = Holdings()
    for kind, holder, taker in script:
        if kind == "receive":
            holdings.receive(holder)
        elif kind == "release":
            holdings.release(holder)
        else:
            holdings.transfer(holder, taker)
    return holdings


@settings(max_examples=150, deadline=None)
@given(script=st.lists(st.tuples(kinds, names, names), max_size=5))
@example(script=[("receive", None, None), ("transfer", None, "L1")])
def test_no_way_to_mean_the_steps_is_left_out(script: list[Step]) -> None:
    holdings = run(script)
    for way in ways(script):
        for name in PEOPLE:
            state, unnamed = holdings.state(name), holdings.state(None)
            assert state != RECEIVED or way[name], (script, way)
            assert state is not None or unnamed is not None or not way[name], (script, way)
        out = sum(way.values())
        assert holdings.of_all() != RECEIVED or out, (script, way)
        assert holdings.of_all() is not None or not out, (script, way)


@settings(max_examples=150, deadline=None)
@given(script=st.lists(st.tuples(kinds, st.sampled_from(PEOPLE), st.sampled_from(PEOPLE))))
def test_where_everybody_is_named_nothing_is_unsettled(script: list[Step]) -> None:
    holdings, found = run(script), held(script)
    assert [holdings.state(name) for name in PEOPLE] == [RECEIVED if found[name] else None for name in PEOPLE]
    assert holdings.of_all() == (RECEIVED if found.total() else None)
    assert holdings.state(None) != UNSETTLED

"""Components kept by small changes equal components worked out anew, at every position."""

from __future__ import annotations

from bisect import bisect_right
from collections import deque

from hypothesis import given
from hypothesis import strategies as st

from groundlint.world.connectivity import Connectivity
from groundlint.world.logs import Log

NODES = st.integers(0, 11)
CHANGES = st.lists(
    st.one_of(
        st.tuples(st.just("add"), st.integers(0, 14), NODES, NODES),
        st.tuples(st.just("remove"), st.integers(0, 14)),
        st.tuples(st.just("mark"), NODES, st.integers(0, 1), st.integers(0, 1)),
    ),
    max_size=60,
)


def component(edges: dict[int, tuple[int, int]], start: int) -> frozenset[int]:
    """By breadth-first search over all edges."""
    seen, edge = {start}, deque([start])
    while edge:
        node = edge.popleft()
        for one, other in edges.values():
            for near in (other,) * (one == node) + (one,) * (other == node):
                if near not in seen:
                    seen.add(near)
                    edge.append(near)
    return frozenset(seen)


@given(CHANGES)
def test_components_and_what_they_hold_equal_a_search_at_every_position(changes: list[tuple]) -> None:
    graph = Connectivity()
    edges: dict[int, tuple[int, int]] = {}
    marks: dict[int, tuple[int, int]] = {}
    history = [(dict(edges), dict(marks))]
    for position, change in enumerate(changes, start=1):
        match change:
            case ("add", key, one, other):
                graph.add(key, one, other, position)
                edges[key] = (one, other)
            case ("remove", key):
                graph.remove(key, position)
                edges.pop(key, None)
            case ("mark", node, electrodes, loose):
                graph.mark(node, position, electrodes=electrodes, loose=loose)
                old = marks.get(node, (0, 0))
                marks[node] = (old[0] + electrodes, old[1] + loose)
        history.append((dict(edges), dict(marks)))
    for at, (then_edges, then_marks) in enumerate(history):
        components = {node: component(then_edges, node) for node in range(12)}
        for one in range(12):
            held = [then_marks.get(node, (0, 0)) for node in components[one]]
            assert graph.holding(at, one) == (sum(e for e, _ in held), sum(loose for _, loose in held))
            for other in range(12):
                assert graph.same(at, one, other) == (other in components[one])
        groups = {members: [then_marks.get(node, (0, 0)) for node in members] for members in components.values()}
        sums = [(sum(e for e, _ in held), sum(loose for _, loose in held)) for held in groups.values()]
        wild = (any(e and loose for e, loose in sums), any(loose > 1 for _, loose in sums))
        assert (graph.wild.at(at) or (False, False)) == wild


@given(st.lists(st.tuples(st.integers(0, 30), st.integers())), st.integers(-1, 31))
def test_a_log_gives_the_last_value_put_at_or_before_a_position(puts: list[tuple[int, int]], at: int) -> None:
    puts.sort(key=lambda put: put[0])
    log: Log[int] = Log()
    for position, value in puts:
        log.put(position, value)
    index = bisect_right([position for position, _ in puts], at)
    assert log.at(at) == (puts[index - 1][1] if index else None)
    assert log.last == (puts[-1][1] if puts else None)

"""Which nodes hang together at each state, and which of them have a path to earth.

The search runs over all states at once: bit s of an integer stands for state s.
"""

from __future__ import annotations

import numpy as np

from groundlint.electrical.solver.layout import BoolArray, IntArray, Layout


def _bits(row: BoolArray) -> int:
    return int.from_bytes(np.packbits(row, bitorder="little").tobytes(), "little")


def _unpack(value: int, states: int) -> BoolArray:
    raw = np.frombuffer(value.to_bytes((states + 7) // 8, "little"), dtype=np.uint8)
    return np.unpackbits(raw, count=states, bitorder="little").astype(np.bool_)


def islands(layout: Layout, on: BoolArray) -> tuple[IntArray, BoolArray]:
    """Island numbers [state, nodes + 1] (0 holds earth, last) and the root of each other island [state, nodes].

    `on` [state, arm] says which arms are on. An arm joins its two ends; mutual coupling joins nothing.
    """
    states, nodes = on.shape[0], layout.nodes
    masks = [_bits(on[:, arm]) for arm in range(on.shape[1])]
    # One pass over parallel arms is enough: they are or-ed into one edge.
    edges: dict[tuple[int, int], int] = {}
    for first, second, mask in zip(layout.a.tolist(), layout.b.tolist(), masks, strict=True):
        if first != second and mask:
            key = (first, second) if first < second else (second, first)
            edges[key] = edges.get(key, 0) | mask
    arms = [(first, second, mask) for (first, second), mask in edges.items()]
    everywhere = (1 << states) - 1

    number = np.zeros((states, nodes + 1), dtype=np.intp)
    roots = np.zeros((states, nodes), dtype=np.bool_)
    done = [0] * nodes + [everywhere]
    seeds = [0] * nodes + [everywhere]
    island = 0
    while True:
        reach = _flood(arms, seeds)
        for node in range(nodes):
            if island and reach[node]:
                number[_unpack(reach[node], states), node] = island
            done[node] |= reach[node]
        # The next island of every state grows from its first node not yet reached.
        seeds, open_states = [0] * (nodes + 1), everywhere
        for node in range(nodes):
            missing = open_states & ~done[node]
            if missing:
                seeds[node] = missing
                roots[_unpack(missing, states), node] = True
                open_states &= ~missing
        if open_states == everywhere:
            return number, roots
        island += 1


def _flood(arms: list[tuple[int, int, int]], seeds: list[int]) -> list[int]:
    reach = list(seeds)
    changed = True
    while changed:
        changed = False
        for first, second, mask in arms:
            both = (reach[first] | reach[second]) & mask
            if both & ~reach[first]:
                reach[first] |= both
                changed = True
            if both & ~reach[second]:
                reach[second] |= both
                changed = True
    return reach

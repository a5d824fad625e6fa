"""Defining a class as a frozen dataclass beside defining it as a record.

Run ``python tests/bench/bench_records.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from statistics import median
from time import perf_counter
from typing import Any

from size import SMALLEST

from groundlint.values.record import Record, record

FIELDS, CLASSES, ROUNDS = 6, *((3, 1) if SMALLEST else (60, 9))


def define(make: Callable[[type], type], base: tuple[type, ...]) -> float:
    """Milliseconds to define one class."""
    start = perf_counter()
    for number in range(CLASSES):
        members: dict[str, Any] = {"__annotations__": {f"f{at}": "int" for at in range(FIELDS)}, "__doc__": "Doc."}
        members |= {f"f{at}": field(default=None, metadata={"doc": "x"}) for at in range(FIELDS)}
        make(type(f"C{number}", base, members))
    return (perf_counter() - start) / CLASSES * 1e3


def main() -> None:
    """Interleaved rounds, medians, and the ratio."""
    plain, light = [], []
    for _ in range(ROUNDS):
        plain.append(define(lambda cls: dataclass(frozen=True, kw_only=True)(cls), ()))
        light.append(define(record, (Record,)))
    ratio = median(plain) / median(light)
    print(f"dataclass {median(plain):.3f} ms, record {median(light):.3f} ms a class: {ratio:.1f} x")


if __name__ == "__main__":
    main()

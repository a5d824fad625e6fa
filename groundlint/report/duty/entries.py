"""A calculation record as plain values: what its JSON and its table are written from. Names and meanings of the fields
are those of the published schema; quantities are in SI, temperatures in C, times in s."""

# ruff: noqa: RUF009  (a field's meaning is made by a function)
from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from groundlint.electrical.record.figures import Figure
from groundlint.electrical.record.record import CalculationRecord
from groundlint.electrical.study.parts import Protection
from groundlint.report.duty.words import Places
from groundlint.report.plain import doc
from groundlint.text import Diagnostic
from groundlint.values import Gap, Unknown
from groundlint.values.bounds import Measure, ends, gaps_of
from groundlint.words.quantities import rounded

End = float | Literal["infinite"] | None
"""One end of a quantity: `infinite` for a time without end and its like, null where it is not known."""


@dataclass(frozen=True, slots=True)
class PlanHead:
    """The plan that was computed."""

    path: str = doc("the file, as it was named to the command")
    title: str | None = doc("its title, or null")
    document: str | None = doc("document number, or null")
    revision: str | None = doc("revision, or null")


@dataclass(frozen=True, slots=True)
class Asked:
    """What the record was narrowed to."""

    step: str = doc("the step after which results are taken; empty for all")
    source: str = doc("the source that returns; empty for all")
    worker: str = doc("the worker; empty for all")
    lead: str = doc("the lead; empty for all")

    @property
    def narrowed(self) -> bool:
        """Whether anything was asked for."""
        return bool(self.step or self.source or self.worker or self.lead)


@dataclass(frozen=True, slots=True)
class ProblemEntry:
    """What could not be read, or a step that cannot be done as written: the numbers may be those of another plan."""

    path: str = doc("the file")
    line: int = doc("the line")
    message: str = doc("what is wrong")
    next: str = doc("one next action, or empty")


@dataclass(frozen=True, slots=True)
class InputEntry:
    """A value as the plan states it."""

    kind: str = doc("line, soil, source, circuit, structure, rod or lead")
    thing: str = doc("of what")
    quantity: str = doc("which quantity")
    value: float | None = doc("its value in the unit given; null where it is in words")
    words: str = doc("its words; empty where it is a number")
    unit: str = doc("unit of the value; empty for a number without one")
    path: str = doc("the file that it stands in")
    line: int = doc("the line that it stands at")


@dataclass(frozen=True, slots=True)
class SourceEntry:
    """A source as it was computed with."""

    source: str = doc("its name")
    emf: float | None = doc("phase to neutral, V; null where its equivalent is not known")
    z1: tuple[float, float] | None = doc("positive-sequence impedance, resistance and reactance in ohm")
    z0: tuple[float, float] | None = doc(
        "zero-sequence impedance; null where it has no path for it, or is not known; on a line of one phase, which "
        "takes only 2 z1 + z0, the same as z1 where the current to ground alone is stated"
    )
    x_over_r: End = doc("X/R of the positive sequence")
    protection: str = doc("what ends a fault from it")
    missing: tuple[str, ...] = doc("the facts not stated that leave it open")


@dataclass(frozen=True, slots=True)
class AssumptionEntry:
    """A value that no plan states: all between low and high is allowed for, or what was measured in its place."""

    name: str = doc("its name")
    low: float = doc("low bound")
    high: float = doc("high bound")
    measured: float | None = doc("what the plan states was measured in its place, or null")
    unit: str = doc("SI unit of low, high and measured; C for temperatures; empty for a number without one")
    reason: str = doc("why it is needed")
    source: str = doc("where the bounds come from")
    known: str = doc("how that is known")
    write: str = doc("what to write in the plan in its place")


@dataclass(frozen=True, slots=True)
class ResultEntry:
    """One result. Low and high are alike where it does not depend on anything assumed."""

    kind: str = doc("what it is of")
    thing: str = doc("of which lead, rod, worker or device")
    source: str = doc("what energizes the line: the source that returns, or the circuit that induces")
    step: str = doc("the step after which it holds, with its number; empty at the start")
    line: int | None = doc("the line of that step; null at the start")
    last_step: str = doc("the last step after which it holds")
    way: str = doc("by which phases the source returns where it is worst")
    between: str = doc("the two things between which it is worst, or empty")
    quantity: str = doc("which quantity")
    low: End = doc("low end; null where it is not known")
    high: End = doc("high end; null where it is not known")
    unit: str = doc("SI unit, C for temperatures; empty for a number without one")
    limit_low: End = doc("low end of what it is held against, in the same unit; null where there is none")
    limit_high: End = doc("high end of that")
    criterion: str = doc("the entry of equations that the limit is by, or empty")
    margin_low: End = doc("limit over value at the worse end: under 1 it is over; null where there is none")
    margin_high: End = doc("limit over value at the better end")
    basis: str = doc("what the value or its limit is by, in words, or empty")
    equation: str = doc("the entry of equations that it is found by")
    missing: tuple[str, ...] = doc("where it is not known, the facts that the plan does not state")
    narrowed_by: tuple[str, ...] = doc("where low and high differ, what to state or measure to bring them together")


@dataclass(frozen=True, slots=True)
class WorstEntry:
    """The step at which a worker is worst off while a source returns, of those that are known."""

    worker: str = doc("the worker")
    source: str = doc("the source that returns")
    step: str = doc("the step after which it is, with its number; empty at the start")
    line: int | None = doc("the line of that step")
    not_shown: int = doc("how many runs of steps are not shown, any of which may be worse")


@dataclass(frozen=True, slots=True)
class EquationEntry:
    """How a kind of result is found, or a criterion."""

    name: str = doc("the name that results refer to")
    symbols: str = doc("the equation, or the criterion in words")
    words: str = doc("what stands in it")
    source: str = doc("its source and how that is known")


@dataclass(frozen=True, slots=True)
class GapEntry:
    """A fact that would decide or narrow results."""

    fact: str = doc("what is not stated")
    write: str = doc("what to write, or empty")
    path: str = doc("the file to write it in")
    line: int | None = doc("the line to write it in; null for a line of its own")
    missing_in: int = doc("how many results are not known without it")
    narrows: int = doc("how many results it would narrow")


@dataclass(frozen=True, slots=True)
class DutyFile:
    """The calculation record of a plan."""

    schema: Literal["urn:groundlint:duty:1.0"] = doc("identity of this schema")
    version: str = doc("version of groundlint")
    caution: str = doc("what a record does not do; to be shown with its results")
    status: int = doc(
        "0 done, 1 the plan could not be read whole or cannot be done as written, 2 a result is not shown"
    )
    plan: PlanHead = doc("the plan")
    asked: Asked = doc("what it was narrowed to")
    problems: tuple[ProblemEntry, ...] = doc("lines that could not be read, steps that cannot be done")
    inputs: tuple[InputEntry, ...] = doc("what the plan states")
    sources: tuple[SourceEntry, ...] = doc("sources as computed with")
    assumptions: tuple[AssumptionEntry, ...] = doc("what no plan states")
    results: tuple[ResultEntry, ...] = doc("every result, worst over the steps but for workers, who have each step")
    worst: tuple[WorstEntry, ...] = doc("the worst step of each worker")
    equations: tuple[EquationEntry, ...] = doc("the equations and criteria that results refer to")
    gaps: tuple[GapEntry, ...] = doc("what would decide or narrow results, those that are missing first")


def duty_file(
    record: CalculationRecord, version: str, caution: str, problems: Sequence[Diagnostic], asked: Asked
) -> DutyFile:
    """A record as plain values."""
    plan, places = record.plan, Places(record.timeline)
    return DutyFile(
        "urn:groundlint:duty:1.0",
        version,
        " ".join(caution.split()),
        status_of(record, problems),
        PlanHead(plan.source.name, plan.title, plan.document, plan.revision),
        asked,
        tuple(ProblemEntry(d.span.source.name, d.span.line, d.message, d.mend or "") for d in problems),
        tuple(_inputs(record)),
        tuple(_sources(record)),
        tuple(
            AssumptionEntry(
                row.name,
                row.low,
                row.high,
                one.measured,
                SI.get(row.dimension, ""),
                row.reason,
                row.source,
                row.how.value,
                row.write,
            )
            for one in record.assumed
            for row in (one.assumption,)
        ),
        tuple(result_entry(figure, places) for figure in record.figures),
        tuple(_worst(record, places)),
        tuple(EquationEntry(row.name, row.symbols, row.words, str(row.source)) for row in record.equations),
        tuple(gap_entries(record)),
    )


SI = {"resistance": "ohm", "resistivity": "ohm m", "length": "m", "temperature": "C"}
"""Units of the register of assumptions, by dimension."""


def status_of(record: CalculationRecord, problems: Sequence[Diagnostic]) -> int:
    """Exit status: 1 where the plan has problems, 2 where a principal result is not known, 0 else."""
    return 1 if problems else 0 if record.decided else 2


def end(value: float) -> End:
    """One end of a quantity, fit for JSON."""
    return value if math.isfinite(value) else "infinite"


def _ends(value: Measure | Unknown | None) -> tuple[End, End]:
    if value is None or isinstance(value, Unknown):
        return None, None
    low, high = ends(value)
    return end(low), end(high)


def _inputs(record: CalculationRecord) -> Iterator[InputEntry]:
    for one in record.inputs:
        number = one.value if isinstance(one.value, (int, float)) else None
        words = one.value if isinstance(one.value, str) else ""
        yield InputEntry(
            one.kind, one.thing, one.quantity, number, words, one.unit, one.span.source.name, one.span.line
        )


def _sources(record: CalculationRecord) -> Iterator[SourceEntry]:
    for one in record.sources:
        found = one.equivalent
        gaps = tuple(gap.fact for gap in gaps_of(found, one.protection))
        guard = protection_words(one.protection)
        if isinstance(found, Unknown):
            yield SourceEntry(one.source.name, None, None, None, None, guard, gaps)
            continue
        z0 = (found.z0.real, found.z0.imag) if isinstance(found.z0, complex) else None
        z1 = (found.z1.real, found.z1.imag)
        yield SourceEntry(one.source.name, found.emf, z1, z0, end(found.x_over_r), guard, gaps)


def protection_words(guard: Protection | Unknown) -> str:
    """What ends a fault."""
    if isinstance(guard, Unknown):
        return "not stated"
    if guard.never:
        return "never clears, as stated"
    device = guard.device
    relay = ""
    if device is not None and device.dial == guard.fixed and not device.breaker_time:
        return f"clears in {rounded(device.dial)} s at {device.pickup:g} A or more, as stated"
    if device is not None:
        relay = (
            f"relay {device.curve.name}, pickup {device.pickup:g} A, dial {device.dial:g}, "
            f"breaker {rounded(device.breaker_time)} s"
        )
    if guard.fixed is not None:
        slower = f", or as {relay} gives where that is longer" if relay else ""
        return f"clears in {rounded(guard.fixed)} s, as stated{slower}"
    return relay or "not stated"


def result_entry(figure: Figure, places: Places) -> ResultEntry:
    """One result as plain values."""
    low, high = _ends(figure.value)
    limit_low, limit_high = _ends(figure.limit)
    margin_low, margin_high = _ends(figure.margin)
    unknown = isinstance(figure.value, Unknown)
    facts = tuple(gap.fact for gap in figure.gaps)
    return ResultEntry(
        figure.kind,
        figure.thing,
        figure.source,
        places.number(figure.at),
        places.span(figure.at).line if figure.at else None,
        places.number(figure.last),
        figure.way,
        figure.between,
        figure.quantity,
        low,
        high,
        figure.unit,
        limit_low,
        limit_high,
        figure.criterion,
        margin_low,
        margin_high,
        figure.basis,
        figure.equation,
        facts if unknown else (),
        () if unknown else facts,
    )


def _worst(record: CalculationRecord, places: Places) -> Iterator[WorstEntry]:
    pairs = dict.fromkeys((one.exposure.person, one.exposure.source) for one in record.stretches)
    for person, source in pairs:
        mine = [
            one.exposure for one in record.stretches if one.exposure.person is person and one.exposure.source is source
        ]
        unknown = sum(isinstance(one.voltage, Unknown) for one in mine)
        worst = record.worst(person, source)
        if worst is not None:
            line = places.span(worst.first).line if worst.first else None
            yield WorstEntry(person.name, source.name, places.number(worst.first), line, unknown)


def gap_entries(record: CalculationRecord) -> Iterator[GapEntry]:
    """What would decide results, then what would narrow them, those that matter to most first."""
    missing: dict[Gap, int] = {}
    narrows: dict[Gap, int] = {}
    for figure in record.figures:
        counts = missing if isinstance(figure.value, Unknown) else narrows
        for gap in figure.gaps:
            counts[gap] = counts.get(gap, 0) + 1
    for gap in gaps_of(record.missing, *(one.equivalent for one in record.sources)):
        missing.setdefault(gap, 0)
    every = dict.fromkeys([*missing, *narrows])
    for gap in sorted(every, key=lambda one: (-missing.get(one, -1), -narrows.get(one, 0))):
        path = gap.where.source.name if gap.where is not None else record.plan.source.name
        line = gap.where.line if gap.where is not None else None
        yield GapEntry(gap.fact, gap.write, path, line, missing.get(gap, 0), narrows.get(gap, 0))

"""Spoiled in isolation, people, paper and testing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from groundlint.facts.isolation import held_behind
from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name, Word
from groundlint.plan.models import Person, SupplySource, Switch
from groundlint.teaching.bench import Bench, Row, RowOf, Sheet, said
from groundlint.teaching.operators import change_each, drop_all, operator
from groundlint.values import TRUE


def clearance(b: Bench, state: str) -> list[RowOf[s.Clearance]]:
    """The rows by which a clearance is requested, received, transferred or released."""
    return [row for row in b.of(s.Clearance) if row.statement.state == state]


def first_touch(b: Bench) -> Row | None:
    """The row outside routines by which a lead first comes to a conductor."""
    found = b.on_conductors("attach")
    return b.doer(found[0]) if found else None


# ------------------------------------------------------------------ isolation
def _openings(b: Bench) -> Iterator[tuple[SupplySource, list[Row]]]:
    """Each source with the rows that open what stands before it, where without them nothing there is open."""
    for source in b.plan.of(SupplySource):
        assert isinstance(source, SupplySource)
        switches = [one for one in b.plan.of(Switch) if isinstance(one, Switch) and source in one.sources]
        rows: list[Row] = []
        for row in b.of(s.Open):
            opened = b.named(row, "switch", "open")
            if row.owner is None and opened and opened <= set(switches):
                rows.append(row)
        if rows and _opened_by(b, rows) == set(switches):
            yield source, rows


def _about(b: Bench, rows: list[Row]) -> list[Row]:
    """The rows that verify, tag or untag no other switch than these rows open, and those that close them again."""
    return [*b.only("switch", _opened_by(b, rows), s.Verify, s.Tag, s.Lock, s.Untag, s.Close)]


def _opened_by(b: Bench, rows: list[Row]) -> set[Any]:
    return {switch for row in rows for switch in b.named(row, "switch", "open")}


@operator("left-closed", "A source is left closed", "isolation", 2)
def left_closed(b: Bench) -> Iterator[Sheet]:
    if not b.positions("receive"):
        return
    for _source, rows in _openings(b):
        sheet = b.sheet.without(*rows)
        for row in b.of(s.Verify, s.Tag, s.Lock, s.Untag, s.Close):
            sheet = b.less(sheet, row, "switch", _opened_by(b, rows))
        yield sheet


@operator("opened-late", "An open point is opened after the tests", "isolation", 3)
def opened_late(b: Bench) -> Iterator[Sheet]:
    to, receives = first_touch(b), b.positions("receive")
    if to is None or not receives:
        return
    for _source, rows in _openings(b):
        verified = [row for row in _about(b, rows) if isinstance(row.statement, s.Verify | s.Tag | s.Lock)]
        if b.acts(rows[0])[0] < receives[0] and b.place(b.doer(receives[-1])) < b.place(to):
            yield b.sheet.move([*rows, *verified], to)


def _tags_of(b: Bench, row: Row) -> bool:
    receives = b.positions("receive")
    return bool(receives) and any(at < receives[-1] for at in b.acts(row, "tag"))


def _held_behind(b: Bench, switches: set[Any]) -> bool:
    """Whether another point nearer to the line, open, locked, tagged and seen, holds what these keep off."""
    receives = b.positions("receive")
    return bool(receives) and all(
        isinstance(one, Switch) and held_behind(b.case, receives[-1], one) for one in switches
    )


@operator("untagged", "An open point carries no tag", "isolation", 1)
def untagged(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Tag, s.Open):
        one = row.statement
        if not _tags_of(b, row) or (isinstance(one, s.Open) and one.sole):  # in hand, it needs no tag
            continue
        switches = b.named(row, "switch", "tag")
        if any(isinstance(switch, Switch) and switch.tagged for switch in switches) or _held_behind(b, switches):
            continue
        found_open = switches - b.every("switch", "open")
        if any(
            other.tagged and found_open & set(other.sides) for other in b.case.switches
        ):  # the tag of another in line
            continue
        sheet = b.sheet
        if not any(switches & b.named(other, "switch", "lock") for other in b.of(s.Open, s.Lock)):
            for other in b.of(s.Untag):  # which takes a lock off as well, so that it stays where there is one
                sheet = b.less(sheet, other, "switch", switches)
        if isinstance(one, s.Tag):
            yield sheet.without(row)
        elif isinstance(one, s.Open) and one.tag_it:
            yield sheet.put(row, tag_it=False)


@operator("unlocked", "An open point is not locked", "isolation", 2)
def unlocked(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Open, s.Lock):
        one, switches = row.statement, b.named(row, "switch", "lock")
        sheet = b.sheet
        if not any(switches & b.named(other, "switch", "tag") for other in b.of(s.Open, s.Tag)):
            for other in b.of(s.Untag):  # which takes a tag off as well, so that it stays where there is one
                sheet = b.less(sheet, other, "switch", switches)
        if switches and isinstance(one, s.Lock):
            yield sheet.without(row)
        elif switches and isinstance(one, s.Open) and one.lock_it:
            yield sheet.put(row, lock_it=False)


@operator("gap-unseen", "Nobody sees or verifies that the switch is open", "isolation", 1)
def gap_unseen(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Open, s.Verify):
        one = row.statement
        switches = b.named(row, "switch")
        others = [
            other
            for other in b.of(s.Open, s.Verify)
            if other is not row
            and (isinstance(other.statement, s.Verify) or getattr(other.statement, "seen", False))
            and switches & b.named(other, "switch")
        ]
        seen_anyway = all(isinstance(switch, Switch) and switch.visible for switch in switches)
        if others or seen_anyway or _held_behind(b, switches) or not switches & b.every("switch", "open"):
            continue
        if isinstance(one, s.Verify):
            yield b.sheet.without(row)
        elif isinstance(one, s.Open) and one.seen:
            yield b.sheet.put(row, seen=False)


@operator("reclosing-left-on", "Reclosing is not blocked", "isolation", 1)
def reclosing_left_on(b: Bench) -> Iterator[Sheet]:
    opened = b.every("switch", "open")
    for row in b.of(s.Block):
        sources = b.named(row, "source")
        breaks = [
            one
            for one in opened
            if isinstance(one, Switch) and one.sort in ("breaker", "recloser") and sources & set(one.sources)
        ]
        again = [other for other in b.of(s.Block) if other is not row and b.acts(other)]
        if breaks and not any(sources & b.named(other, "source") for other in again):
            unblocks = b.only("source", sources, s.Unblock)
            yield b.sheet.without(row, *unblocks)


@operator("no-clearance", "The clearance is never received", "isolation", 1)
def no_clearance(b: Bench) -> Iterator[Sheet]:
    received = clearance(b, "received")
    if received and b.on_conductors("attach"):
        yield b.sheet.without(*received, *clearance(b, "transferred"), *clearance(b, "released"))


@operator("cleared-late", "The clearance is received after the grounds are on", "isolation", 2)
def cleared_late(b: Bench) -> Iterator[Sheet]:
    received = clearance(b, "received")
    to = b.doer(b.seats[0]) if b.seats else None
    found = b.on_conductors("attach")
    if len(received) == 1 and received[0].owner is None and to is not None and found and found[0] < b.seats[0]:
        yield b.sheet.move(received, to)


@operator("asked-after", "The clearance is received before it is requested", "isolation", 2)
def asked_after(b: Bench) -> Iterator[Sheet]:
    asked, received = clearance(b, "requested"), clearance(b, "received")
    if len(asked) == 1 and len(received) == 1 and asked[0].owner is received[0].owner:
        after = b.sheet.after(received[0])
        if b.place(asked[0]) < b.place(received[0]) and after is not None:
            yield b.sheet.move(asked, after)


@operator("asker-unnamed", "Nobody is named who asks for the clearance", "isolation", 1)
def asker_unnamed(b: Bench) -> Iterator[Sheet]:
    for row in clearance(b, "requested"):
        if row.statement.by:
            yield b.sheet.put(row, by=None)


@operator("holder-unnamed", "Of two who hold a clearance one is not named", "isolation", 2)
def holder_unnamed(b: Bench) -> Iterator[Sheet]:
    received = clearance(b, "received")
    for row in received if len(received) > 1 and not clearance(b, "transferred") else ():
        if row.statement.by:
            yield b.sheet.put(row, by=None)


def _other_people(b: Bench) -> list[Person]:
    """Those who neither receive nor take over a clearance, nor are of a crew that does; none where a step is silent."""
    holders = {b.slot(at, "holder") for at in b.positions("receive")}  # None for one that names nobody
    holders |= {b.slot(at, "taker") for at in b.positions("transfer")}
    crews = b.every("crew", "receive") | b.every("taker_crew", "transfer")
    people = [one for one in b.plan.of(Person) if isinstance(one, Person)]
    others = [one for one in people if one not in holders and (one.crew is None or one.crew not in crews)]
    return others if all(isinstance(one, Person) for one in holders) else []


@operator("other-releases", "Another releases the clearance than holds it", "isolation", 3)
def other_releases(b: Bench) -> Iterator[Sheet]:
    for other in _other_people(b)[:1]:
        for row in clearance(b, "released"):
            if row.statement.by:
                yield b.sheet.put(row, by=Name(other.name))


@operator("other-transfers", "Another hands the clearance over than holds it", "isolation", 3)
def other_transfers(b: Bench) -> Iterator[Sheet]:
    for other in _other_people(b)[:1]:
        for row in clearance(b, "released")[:1]:
            if row.statement.by:
                named = {"name": row.statement.name, "by": Name(other.name), "to": row.statement.by}
                passed = said(s.Clearance, state=Word("transferred"), **named, operator_told=True, crew_told=True)
                yield b.sheet.insert(row, passed)


# ------------------------------------------------------------------ capacitors
def _waits(b: Bench) -> Iterator[tuple[Row, RowOf[s.Discharge]]]:
    """Each wait outside routines, and nothing else, between a capacitor's disconnection and its discharge."""
    rows = b.sheet.rows
    for first, wait, last in zip(rows, rows[1:], rows[2:], strict=False):
        if wait.owner is None and isinstance(wait.statement, s.Wait) and isinstance(first.statement, s.Disconnect):
            yield from ((wait, row) for row in b.of(s.Discharge) if row is last)


@operator("capacitor-no-wait", "A capacitor is discharged as soon as it is disconnected", "isolation", 1)
def capacitor_no_wait(b: Bench) -> Iterator[Sheet]:
    for wait, _row in _waits(b):
        yield b.sheet.without(wait)


@operator("capacitor-short-wait", "A capacitor is discharged before it has run down", "isolation", 2)
def capacitor_short_wait(b: Bench) -> Iterator[Sheet]:
    for wait, _row in _waits(b):
        yield b.sheet.put(wait, amount=Amount("60 s"))


@operator("capacitor-left-charged", "A capacitor is not discharged", "isolation", 2)
def capacitor_left_charged(b: Bench) -> Iterator[Sheet]:
    for _wait, row in _waits(b):
        yield b.sheet.without(row)


operator("capacitor-by-hand", "A capacitor is short-circuited by hand", "isolation", 1)(
    change_each(s.Discharge, on_stick=None, by_hand=True)
)


# ------------------------------------------------------------------ people and paper
operator("parallel-unsaid", "Nothing is said of circuits beside the line", "paper", 1)(drop_all(s.NoParallel))
operator("sources-unsaid", "It is not said that the sources are all", "paper", 2)(drop_all(s.NoSource))
operator("cautions-unsaid", "No caution is stated", "paper", 1)(drop_all(s.Caution))
operator("emergency-unsaid", "Nothing is said of emergencies", "paper", 1)(drop_all(s.Emergency))
operator("method-unsaid", "No method is declared", "paper", 1)(drop_all(s.Method))


@operator("fault-unsaid", "No fault current of a source is given", "paper", 1)
def fault_unsaid(b: Bench) -> Iterator[Sheet]:
    """All that a source's fault current follows from, which may stand in several lines."""
    for run in _of_each_source(b, s.Fault, s.Power, s.Impedance):
        yield b.sheet.without(*run)


@operator("clearing-unsaid", "No clearing time of a source is given", "paper", 1)
def clearing_unsaid(b: Bench) -> Iterator[Sheet]:
    """The time and the relay that it follows from, of one source."""
    for run in _of_each_source(b, s.Clears, s.Relay):
        yield b.sheet.without(*run)


def _of_each_source(b: Bench, *classes: type[s.Statement]) -> list[list[Row]]:
    """The properties of some kinds, together for each source that has any; other circuits have some of them too."""
    found: list[list[Row]] = []
    of_source = False
    for row in b.sheet.rows:
        if isinstance(row.statement, s.Thing):
            of_source = isinstance(row.statement, s.SourceDecl)
            found.append([])
        elif of_source and isinstance(row.statement, classes):
            found[-1].append(row)
    return [run for run in found if run]


@operator("never-clears", "Nothing clears a fault that a source feeds", "paper", 2)
def never_clears(b: Bench) -> Iterator[Sheet]:
    for (row,) in (run for run in _of_each_source(b, s.Clears) if len(run) == 1):
        if not row.statement.never:  # type: ignore[attr-defined]
            yield b.sheet.put(row, amount=None, never=True)


@operator("unbriefed", "Nobody has the job briefing", "paper", 1)
def unbriefed(b: Bench) -> Iterator[Sheet]:
    rows = b.of(s.Brief)
    if rows and b.positions("enter"):
        yield b.sheet.without(*rows)


@operator("briefed-late", "The briefing comes after the crew is up", "paper", 2)
def briefed_late(b: Bench) -> Iterator[Sheet]:
    rows = [row for row in b.of(s.Brief) if row.owner is None]
    works = b.positions("work")
    if len(rows) == len(b.of(s.Brief)) == 1 and works and b.place(rows[0]) < b.place(b.doer(works[0])):
        yield b.sheet.move(rows, b.doer(works[0]))


@operator("no-hold", "No hold stands before the first hand on the line", "paper", 1)
def no_hold(b: Bench) -> Iterator[Sheet]:
    holds = [row for row in b.of(s.Hold) if b.seats and b.acts(row) and b.acts(row)[0] < b.seats[0]]
    if holds:
        yield b.sheet.without(*holds)


@operator("unnumbered", "A step carries no number", "paper", 1)
def unnumbered(b: Bench) -> Iterator[Sheet]:
    if b.steps and all(row.statement.number for row in b.steps):
        for row in b.steps[1:]:
            yield b.sheet.put(row, number=None)


@operator("other-method", "Another method is declared than is built", "arrangement", 3)
def other_method(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Method):
        if b.plan.method == "dual-point":
            local = [b.tl.grounded(at, p, True) is TRUE for at, p in _phases_at_work(b)]
            if local and not any(local):
                yield b.sheet.put(row, method=Word("single-point"))
        elif b.plan.method == "single-point":
            everywhere = {b.where(at) for at in b.on_conductors("attach")}
            if len({one for one in everywhere if one is not None}) == 1 and len(b.worksites) == 1:
                yield b.sheet.put(row, method=Word("dual-point"))


def _phases_at_work(b: Bench) -> Iterator[tuple[int, Any]]:
    """The phase points in reach of who comes to a worksite, with the step."""
    for at in b.seats:
        reach = b.slot(at, "reach")
        assert isinstance(reach, tuple)
        yield from ((at, point) for point in reach if b.role(point) == "phase")


# ------------------------------------------------------------------ testing
def _needed(b: Bench, row: Row) -> list[int]:
    """The tests of a row that a ground relies on: a clamp goes on that phase, not grounded yet, before it expires."""
    found = []
    for at in b.acts(row, "test"):
        point = b.slot(at, "point")
        if b.role(point) != "phase":
            continue
        clamps = [on for on in b.positions("attach") if on > at and b.slot(on, "point") == point]
        if clamps and not b.grounded(clamps[0], point):
            found.append(at)
    return found


@operator("unproven-before", "The detector is not proven before it tests", "testing", 1)
def unproven_before(b: Bench) -> Iterator[Sheet]:
    yield from _proofs(b, before=True)


@operator("unproven-after", "The detector is not proven after it has tested", "testing", 1)
def unproven_after(b: Bench) -> Iterator[Sheet]:
    yield from _proofs(b, before=False)


def _proofs(b: Bench, before: bool) -> Iterator[Sheet]:
    """Each proof left out that stands right before a test, or that follows one, in the run of proofs and tests."""
    for row in b.of(s.Prove):
        kinds = []
        for at in b.acts(row):
            step = -1 if not before else 1
            near = at + step
            while 0 <= near < b.tl.n and b.action(near).kind in ("hold", "note", "clean", "inspect", "wait"):
                near += step
            kinds.append(b.action(near).kind if 0 <= near < b.tl.n else "")
        if kinds and all(kind == "test" for kind in kinds):
            yield b.sheet.without(row)


operator("tested-by-hand", "A test is made by hand", "testing", 1)(change_each(s.Test, on_stick=None, by_hand=True))
operator("stick-unsaid", "Nothing is said of the stick that a test is made with", "testing", 1)(
    change_each(s.Test, on_stick=None)
)


@operator("found-live", "A test finds the line live, and the job goes on", "testing", 2)
def found_live(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Test):
        if _needed(b, row):
            yield b.sheet.put(row, result=Word("live"))


@operator("untested", "A structure is not tested", "testing", 1)
def untested(b: Bench) -> Iterator[Sheet]:
    gone: dict[object, list[Row]] = {}
    for row in b.of(s.Test):
        for at in _needed(b, row):
            gone.setdefault(b.where(at), [])
    for structure, rows in gone.items():
        for row in b.of(s.Test):
            places = {b.where(at) for at in b.acts(row)}
            if places == {structure} or (row.owner is not None and structure in places):
                rows.append(row)
        if rows:
            yield b.sheet.without(*dict.fromkeys(rows))


@operator("phase-untested", "One phase is not tested", "testing", 2)
def phase_untested(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Test):
        needed = _needed(b, row)
        if not needed:
            continue
        # the phase that is clamped first is no longer there to ask of when the next goes on
        points = {str(b.slot(at, "point").thing): b.slot(at, "point") for at in needed}
        order = [
            str(b.slot(at, "point").thing) for at in b.positions("attach") if b.slot(at, "point") in points.values()
        ]
        words = [str(word) for word in row.statement.points]
        for phase in points:
            if order and phase != order[0] and words.count(phase) == 1 and len(points) > 1:
                yield b.sheet.put(row, points=tuple(Word(word) for word in words if word != phase))


@operator("tested-early", "The tests are made before the clearance is received", "testing", 3)
def tested_early(b: Bench) -> Iterator[Sheet]:
    received = clearance(b, "received")
    tests = [row for row in b.of(s.Test) if row.owner is None and _needed(b, row)]
    proofs = [row for row in b.of(s.Prove) if row.owner is None]
    if not received or received[0].owner is not None or not tests or len(b.of(s.Test)) != len(tests):
        return
    if len(proofs) == len(b.of(s.Prove)) and all(b.place(row) > b.place(received[0]) for row in (*tests, *proofs)):
        run = [row for row in b.sheet.rows if row in tests or row in proofs]
        yield b.sheet.move(run, received[0])


@operator("closed-after-test", "A switch is closed between the test and the ground", "testing", 3)
def closed_after_test(b: Bench) -> Iterator[Sheet]:
    found = b.on_conductors("attach")
    if not found:
        return
    point = b.slot(found[0], "point")
    if b.role(point) not in ("phase", "neutral"):
        return
    phases = [at for at in found if b.role_at(at) == "phase"]
    tests = [at for at in b.positions("test") if phases and at < phases[0]]
    if not tests or not any(b.slot(at, "point") == b.slot(phases[0], "point") for at in tests):
        return
    last = b.doer(tests[-1])
    routine = b.row_of(tests[-1])
    row = routine if routine.owner is not None and b.doer(phases[0]) is last else last
    after = b.sheet.after(row)
    while after is not None and isinstance(after.statement, s.Prove | s.Test):
        after = b.sheet.after(after)
    if after is None or row.owner is not None:
        return
    for source, rows in _openings(b):
        switches = [one for one in b.plan.of(Switch) if isinstance(one, Switch) and source in one.sources]
        if len(rows) == 1 and len(switches) == 1 and b.acts(rows[0], "open")[0] < tests[0]:
            again = replace(rows[0].statement, before=())
            yield b.sheet.insert(after, said(s.Close, names=(Name(switches[0].name),)), again)


@operator("detector-too-low", "The detector is made for a lower voltage", "testing", 2)
def detector_too_low(b: Bench) -> Iterator[Sheet]:
    for row in _detectors(b):
        yield b.sheet.put(row, range=(Amount.at("60 V"), Amount.at("600 V")))


@operator("detector-too-high", "The detector is made for a higher voltage", "testing", 2)
def detector_too_high(b: Bench) -> Iterator[Sheet]:
    for row in _detectors(b):
        yield b.sheet.put(row, range=(Amount.at("345 kV"), Amount.at("765 kV")))


def _detectors(b: Bench) -> list[RowOf[s.Detector]]:
    names = {str(one) for one in b.every("detector", "test")}
    voltage = b.plan.line.voltage if b.plan.line is not None else None
    if voltage is None or not 600 < voltage < 345_000:
        return []
    return [row for row in b.of(s.Detector) if names & {str(name) for name in row.statement.names}]


__all__ = ["clearance", "first_touch"]

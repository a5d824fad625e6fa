"""What a revision gained and lost, for one edit after another of an example: by meaning, never by lines of text."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache, lru_cache
from itertools import count as count_from
from pathlib import Path

import crowd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from revised import Edit, sub
from sound_plans import sound_plan

from groundlint.findings.compare import STATED_DIGITS, Comparison, amount, compare
from groundlint.findings.likeness import likeness
from groundlint.findings.model import Kind, Review
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.reading import read_plan
from groundlint.report.comparison import comparison_text, verdict_of
from groundlint.text import Severity, Source
from groundlint.words.quantities import FIGURES

EXAMPLES = Path(__file__).parents[2] / "examples"
DUAL, SINGLE, SINS = "dual-point-crossarm.tpg", "single-point-insulator.tpg", "deliberate-sins.tpg"
GATE = Severity.WARNING


@cache
def text_of(name: str) -> str:
    return (EXAMPLES / name).read_text("utf-8")


@lru_cache(maxsize=8)
def review_of(text: str, name: str, computed: bool) -> Review:
    return crowd.reviewed(text, name, computed=computed)


def compared(old: str, new: str, *, computed: bool = False) -> Comparison:
    """Two texts compared, with their circuits where what is asked is computed."""
    return compare(review_of(old, "old.tpg", computed), review_of(new, "new.tpg", computed))


# ------------------------------------------------------------- edits


def drop(*starts: str) -> Edit:
    """Lines that begin so, blanks aside."""

    def edit(text: str) -> str:
        lines = text.splitlines(keepends=True)
        for start in starts:
            assert sum(line.strip().startswith(start) for line in lines) == 1, start
            lines = [line for line in lines if not line.strip().startswith(start)]
        return "".join(lines)

    return edit


def swap(one: str, other: str) -> Edit:
    """Two steps change places and keep the numbers of the places."""

    def edit(text: str) -> str:
        lines = text.splitlines(keepends=True)
        at, to = (
            next(n for n, line in enumerate(lines) if re.match(rf" *{number}\. ", line)) for number in (one, other)
        )
        (a, left), (b, right) = (re.match(r"( *\d+\. +)(.*)", lines[n], re.DOTALL).groups() for n in (at, to))
        lines[at], lines[to] = a + right, b + left
        return "".join(lines)

    return edit


def after(start: str, line: str) -> Edit:
    """A line put in after the one that begins so."""
    return sub(rf"^( *{re.escape(start)}.*\n)", rf"\1{line}\n", 1)


def unnumbered(text: str) -> str:
    return re.sub(r"^ *\d+\. +", "  ", text, flags=re.MULTILINE)


def renumbered(text: str) -> str:
    return re.sub(r"^ *(\d+)\. ", lambda m: f"  {int(m[1]) * 10}. ", text, flags=re.MULTILINE)


def commented(text: str) -> str:
    return "# the foreman's copy\n\n" + re.sub(r"(?<=[a-z])\n", "  # seen\n", text)


def tidied(text: str) -> str:
    return write_plan(read_statements(Source("plan.tpg", text)).text)


def reflowed(text: str) -> str:
    return re.sub(r"(?<=\S) {2,}", "\t", text).replace("\n", "\r\n")


def renamed(**names: str) -> Edit:
    def edit(text: str) -> str:
        for old in names:
            assert re.search(rf"\b{old}\b", text), old
        return re.sub(r"\w+", lambda m: names.get(m[0], m[0]), text)

    return edit


def spelled_out(text: str) -> str:
    return text.replace("G1..G5 G11..G15", "G1 G2 G3 G4 G5 G11 G12 G13 G14 G15").replace("P1..P4", "P1 P2 P3 P4")


ALL_NAMES = {
    **{f"G{n}": f"Lead{n + 40}" for n in (*range(1, 6), *range(11, 16))},
    **{f"P{n}": f"Tail{n + 7}" for n in range(1, 5)},
    "R1": "Spike2",
    "R2": "Spike1",
    "K1": "Kb",
    "K2": "Ka",
    "K3": "Kc",
    "D1": "Vd",
    "T1": "Vt",
    "H1": "Ha",
    "H2": "Hb",
    "RC12": "S7",
    "TS40": "S8",
    "Hobnail": "East",
    "Antler": "North",
    "SaddleCreek": "Ridge",
    "Brant": "Teal",
    "Heron": "Smew",
    "Rook": "Brant",
    "Finch": "Merlin",
    **{f"SC{n}": f"NX{n * 3}" for n in range(14, 19)},
}


def all_renamed(text: str) -> str:
    text = spelled_out(text).replace("SC14..SC18", "SC14 SC15 SC16 SC17 SC18")
    return renamed(**ALL_NAMES)(text)


def by_hand(text: str) -> str:
    """The routine undone: each of its steps written out where it is done, in the numbers' order of the plan."""
    found = re.search(r"^routine bracket.*\n((?:  .*\n)+)", text, re.MULTILINE)
    assert found is not None
    made = text.replace(found[0], "")
    parameters = ["S", "R", "K", "a", "b", "c", "d", "e"]
    for line, values in re.findall(r"^( +\d+\. do bracket \((.*)\)\n)", text, re.MULTILINE):
        names = dict(zip(parameters, values.replace(",", "").split(), strict=True))
        body = re.sub(r"(?<![\w\"])[A-Za-z](?!\w)", lambda m, names=names: names.get(m[0], m[0]), found[1])
        made = made.replace(line, body)
    for number, values in (("29", "SC17 K2 R2 G11 G12 G13 G14 G15"), ("30", "SC15 K1 R1 G1 G2 G3 G4 G5")):
        at, bar, rod, *leads = values.split()
        off = (
            (leads[4], f"{at} A by H1", f"{at} B"),
            (leads[3], f"{at} B by H1", f"{at} C"),
            (leads[2], f"{at} C by H1", f"{at} N"),
            (leads[1], f"{at} N by H1", bar),
            (leads[0], bar, ""),
        )
        lines = [f"  detach {lead} from {one}{f', then from {other}' if other else ''}\n" for lead, one, other in off]
        lines.append(f"  detach {leads[0]} from {rod}\n")
        made, count = re.subn(rf"^ +{number}\. undo .*\n", "".join(lines), made, flags=re.MULTILINE)
        assert count == 1
    head, stages = made.split("stage isolate\n")
    numbers = count_from(1)
    rest = re.sub(r"^ +(?:\d+\. +)?(?=\w)", lambda m: f"  {next(numbers)}. ", stages, flags=re.MULTILINE)
    return f"{head}stage isolate\n{rest}"


SAME: dict[str, tuple[str, Edit]] = {
    "nothing": (DUAL, lambda text: text),
    "a lead renamed": (DUAL, lambda text: renamed(P1="Q9")(spelled_out(text))),
    "two leads that change names everywhere": (DUAL, lambda text: renamed(P1="P4", P4="P1")(spelled_out(text))),
    "everything renamed": (DUAL, all_renamed),
    "steps renumbered": (DUAL, renumbered),
    "comments": (DUAL, commented),
    "canonical layout": (DUAL, tidied),
    "tabs, and line ends of the other kind": (DUAL, reflowed),
    "ranges spelled out": (DUAL, spelled_out),
    "declarations in another order": (DUAL, sub(r"^(stick +H1.*\n)(stick +H2.*\n)", r"\2\1")),
    "sources in another order": (DUAL, sub(r"^(source H(?:.*\n){5})(source A(?:.*\n){5})", r"\2\1")),
    "routine's parameters renamed": (DUAL, lambda text: re.sub(r"(?<![\w\"])S(?!\w)", "Q", text)),
    "another title, revision and date": (DUAL, sub(r"revision 2 dated 2026-04-14", "revision 3 dated 2026-04-20")),
    "other units": (DUAL, lambda text: sub(r"20 ft from", "240 in from")(sub(r"24\.9 kV", "24900 V")(text))),
    "the words of the other tradition": (
        DUAL,
        lambda text: sub(r"^structure ", "pole      ")(
            sub(r"protective ground", "protective earth")(text + "# protective ground\n")
        ),
    ),
    "phases in another order": (SINGLE, sub("^  phases    A B C", "  phases    C A B")),
    "reach in another order": (SINGLE, sub("reaching N A B C and the pole", "reaching the pole, C, B, A and N")),
    "a routine written out": (DUAL, by_hand),
    "stage renamed": (SINGLE, sub("^stage work", 'stage "change the insulator"')),
    "cautions in another order": (DUAL, sub(r'^(caution   "S.*\n)(caution   "t.*\n)', r"\2\1")),
    "sins: the same sins renamed": (SINS, lambda text: renamed(H1="Hot1", D1="Dv", L1="Lx")(text)),
}


@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", SAME)
def test_what_means_the_same_compares_as_equal(name: str) -> None:
    example, edit = SAME[name]
    old = text_of(example)
    comparison = compared(old, edit(old))
    assert not comparison.new.plan.unread
    assert comparison.same, comparison_text(comparison, GATE)
    assert verdict_of(comparison, GATE) == "the same"
    assert comparison.status(Severity.NOTICE) == 0
    assert len(comparison.findings_carried) == len(comparison.old.findings)
    back = compared(edit(old), old)
    assert back.same


def test_renamed_things_are_reported_by_both_names() -> None:
    comparison = compared(text_of(DUAL), all_renamed(text_of(DUAL)))
    assert dict(comparison.renamed) == ALL_NAMES


WAIVERS = "".join(
    f'waive {slug} because "b" by "engineer" until 2026-12-31\n' for slug in ("rod-barricaded", "groundman-clear")
)

# name: example, edit, verdict, what the text of the comparison must say, rules with a new finding
CHANGED: dict[str, tuple[str, Edit, str, tuple[str, ...], set[str]]] = {
    "a test dropped": (
        SINGLE,
        drop("14. test"),
        "worse",
        ("lost: line 54 of the old plan: test OS07 C with V2",),
        {"every-conductor-tested"},
    ),
    "one phase not tested": (
        SINGLE,
        sub("test      OS07 C B A", "test      OS07 C B"),
        "worse",
        ("lost: line 54 of the old plan: test OS07 A with V2 on H3",),
        {"every-conductor-tested"},
    ),
    "the second prove dropped": (
        SINGLE,
        drop("15. prove"),
        "worse",
        ("lost: line 55 of the old plan: prove V2 on T2",),
        {"detector-proven-after"},
    ),
    "two removals swapped": (
        SINGLE,
        swap("28", "31"),
        "worse",
        ("less: the lead from K4: grounded by OS07 N", "moved: ", "detach W5"),
        {"reverse-order"},
    ),
    "a thinner lead": (
        SINGLE,
        sub("1/0 copper", "#2 copper"),
        "worse",
        (
            "narrower: W1, W2, W3, W4, W5: cross-section, 53.5 mm2 -> 33.6 mm2",
            "size of W1, W2, W3, W4, W5, 1/0 -> #2",
        ),
        set(),
    ),
    "a thicker lead": (
        SINGLE,
        sub("1/0 copper", "4/0 copper"),
        "better",
        ("wider: W1, W2, W3, W4, W5: cross-section",),
        set(),
    ),
    "a longer lead": (
        SINGLE,
        sub("copper 20 ft", "copper 28 ft"),
        "worse",
        ("narrower: W1, W2, W3, W4, W5: length",),
        set(),
    ),
    "the rod closer": (
        SINGLE,
        sub("20 ft from the pole", "9 ft from the pole"),
        "worse",
        (
            "narrower: R4: distance from the structure, 6.096 m (20 ft) -> 2.743 m (9 ft)",
            "changed: line 48: set R4 at OS07 (distance: ",
        ),
        {"rod-distance"},
    ),
    "the rod a little closer": (
        SINGLE,
        sub("20 ft from the pole", "18 ft from the pole"),
        "worse",
        ("narrower: R4: distance from the structure",),
        set(),
    ),
    "the rod further off": (
        SINGLE,
        sub("20 ft from the pole", "30 ft from the pole"),
        "worse",
        ("wider: R4: distance from the structure",),
        {"lead-spans-its-points"},
    ),
    "the barricade closer": (
        SINGLE,
        sub("R4 at 10 ft", "R4 at 7 ft"),
        "worse",
        ("narrower: R4: distance that people are kept",),
        set(),
    ),
    "no barricade": (
        SINGLE,
        drop("10. barricade"),
        "worse",
        ("lost: line 50 of the old plan: barricade R4",),
        {"rod-barricaded"},
    ),
    "no briefing": (
        SINGLE,
        drop("1. brief"),
        "worse",
        ("lost: line 39 of the old plan: brief Pipit; brief Sora; brief Wren",),
        {"briefing-before-work"},
    ),
    "one man not briefed": (
        SINGLE,
        sub("brief     Pipit Sora Wren", "brief     Pipit Sora"),
        "worse",
        ("brief Wren",),
        {"briefing-before-work"},
    ),
    "no tag": (
        SINGLE,
        sub("open      S211, lock it and tag it, by Sora", "open      S211, lock it, by Sora"),
        "worse",
        ("lost: line 42 of the old plan: tag S211",),
        {"open-point-tagged"},
    ),
    "a clamp put on by hand": (
        SINGLE,
        sub("then to OS07 A by H3", "then to OS07 A"),
        "worse",
        ("changed: ", "attach W4 to OS07 A (stick: H3 -> not stated)"),
        {"line-end-by-stick"},
    ),
    "cleaning dropped": (
        SINGLE,
        drop("16. clean"),
        "worse",
        ("lost: ", "clean OS07 N; clean OS07 A; clean OS07 B; clean OS07 C"),
        {"clean-contact"},
    ),
    "one phase left out": (
        SINGLE,
        drop("20. attach", "28. detach"),
        "worse",
        ("lost: ", "attach W5 to OS07 C by H3"),
        {"every-phase-grounded"},
    ),
    "the hold dropped": (SINGLE, drop("21. hold"), "worse", ("lost: ", 'hold "until Pipit'), set()),
    "clearance given up before the grounds are off": (SINGLE, swap("31", "33"), "worse", ("moved: ",), set()),
    "ground end last": (
        SINGLE,
        sub("attach    W3 to K4, then to OS07 B by H3", "attach    W3 to OS07 B by H3, then to K4"),
        "worse",
        ("moved: ",),
        {"ground-end-first"},
    ),
    "another method": (
        DUAL,
        sub("method    dual-point", "method    single-point"),
        "changed",
        ("changed: line 5: method of the plan, dual-point -> single-point",),
        set(),
    ),
    "silence on other sources": (
        DUAL,
        drop("no source but"),
        "worse",
        ("no other source of the plan, yes -> no",),
        {"every-source-open"},
    ),
    "more fault current": (
        DUAL,
        sub("4.1 kA three-phase", "9.1 kA three-phase"),
        "changed",
        (
            "three phase of Hobnail, 4,100 A -> 9,100 A",
            "narrower: P1: duty over rating, Hobnail returning, ",
        ),
        set(),
    ),
    "one bracket less": (
        DUAL,
        drop("9. do bracket", "29. undo"),
        "worse",
        ("lost: line 78 of the old plan: inspect G11; ", "and 21 more"),
        {"personal-ground-off-while-brackets-hold"},
    ),
    "a bracket moved to another structure": (
        DUAL,
        sub(r"SC17(, R2|\n 30)", r"SC18\1"),
        "worse",
        ("lost: line 78 of the old plan: set R2 at SC17; ", "gained: line 78: set R2 at SC18; "),
        set(),
    ),
    "a test more": (
        SINGLE,
        after("15. prove", "  test OS07 N with V2 on H3\n  prove V2 on T2"),
        "better",
        ("gained: line 56: test OS07 N with V2 on H3", "gained: line 57: prove V2 on T2"),
        set(),
    ),
    "a line that can't be read": (
        SINGLE,
        sub("^ 16. clean", " 16. claen"),
        "worse",
        ("not read: ", "[unknown-statement]"),
        set(),
    ),
    "a lock left off": (
        SINGLE,
        sub("lock it and tag it", "tag it"),
        "worse",
        ("lost: line 42 of the old plan: lock S211",),
        {"open-point-locked", "outsiders-cannot-close"},
    ),
    "a waiver": (
        SINGLE,
        lambda text: sub("^stage isolate", f"{WAIVERS}\nstage isolate")(drop("10. barricade")(text)),
        "worse",
        ("(new, waived)", "waivers of the plan"),
        {"rod-barricaded"},
    ),
    "renamed, and a test dropped": (
        SINGLE,
        lambda text: renamed(V2="Det", W4="W9", Sora="Crake")(
            drop("14. test")(text.replace("W1..W5", "W1 W2 W3 W4 W5"))
        ),
        "worse",
        ("renamed: ", "V2 -> Det", "test OS07 C with V2"),
        {"every-conductor-tested"},
    ),
    "a climb put before the grounds": (SINGLE, swap("7", "23"), "worse", ("moved: ", "enter Sora at OS07"), set()),
}


@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", CHANGED)
def test_a_change_is_reported_for_what_it_is(name: str) -> None:
    example, edit, verdict, said, slugs = CHANGED[name]
    old = text_of(example)
    comparison = compared(old, edit(old))
    text = comparison_text(comparison, GATE)
    assert verdict_of(comparison, GATE) == verdict, text
    for words in said:
        assert words in text
    assert slugs <= {finding.slug for finding in comparison.findings_new}, text
    assert not comparison.same
    assert bool(comparison.status(GATE)) == (verdict == "worse")
    back = compared(edit(old), old)
    assert {step.words for step in back.gained} == {step.words for step in comparison.lost}
    assert len(back.findings_fixed) == sum(f.waiver is None for f in comparison.findings_new)
    assert len(back.moved) == len(comparison.moved)


def test_computed_margins_follow_what_the_site_and_the_plan_say() -> None:
    old = text_of(DUAL)
    thinner = compared(old, sub("^(lead +P1..P4 +)2/0", r"\1#2")(old))
    loads = [change for change in thinner.margins if change.words.startswith("duty over rating")]
    assert {change.thing for change in loads} == {"P1", "P2", "P3", "P4"}
    assert all(change.narrower and change.computed and 0 < change.old < change.new < 1 for change in loads)
    weaker = compared(old, sub("4.1 kA three-phase, 3.6", "2.1 kA three-phase, 1.6")(old))
    computed = [change for change in weaker.margins if change.computed]
    assert computed
    assert not any(change.narrower for change in computed if "Hobnail" in change.words)
    silent = compared(old, sub("^  fault     4.1 kA.*\n", "")(old))
    assert not [change for change in silent.margins if "Hobnail" in change.words]


# ------------------------------------------------------------- plans with known findings


def test_what_the_rules_do_not_see_counts_all_the_same() -> None:
    """A test lost is worse though no finding is new, in a sound plan and in one that had findings."""
    sound = text_of(DUAL)
    known = sub("20 ft from", "12 ft from")(sound)
    less = drop("12. test")
    assert compared(sound, less(sound)).status(GATE) == 1
    comparison = compared(known, less(known))
    assert comparison.status(GATE) == 1
    assert comparison.findings_new == ()
    text = comparison_text(comparison, GATE)
    assert "no finding at or above the gate is new; what protected somebody" in text
    thinner = sub("^(lead +P1..P4 +)2/0", r"\1#2")
    assert compared(known, thinner(known)).status(GATE) == 1
    assert compared(known, renamed(P1="Q1")(spelled_out(known))).status(GATE) == 0
    more = after("12. test", "  test SC16 N with D1 on H2")
    assert compared(known, more(known)).status(GATE) == 0


def test_only_findings_at_the_gate_make_it_worse() -> None:
    old = text_of(SINGLE)
    comparison = compared(old, drop("emergency")(old))
    assert comparison.findings_new
    gravest = max(finding.level for finding in comparison.findings_new)
    assert comparison.status(gravest) == 2
    assert comparison.status(Severity(gravest + 1)) == 0


def test_a_finding_that_turns_from_not_shown_to_broken_is_worse() -> None:
    silent = sub(", 20 ft from the pole,", ",")(text_of(SINGLE))
    broken = sub("20 ft from the pole", "9 ft from the pole")(text_of(SINGLE))
    comparison = compared(silent, broken)
    assert [(f.slug, f.kind, was.kind) for f, was in comparison.findings_worsened] == [
        ("rod-distance", Kind.BROKEN, Kind.UNSHOWN)
    ]
    assert comparison.status(GATE) == 1
    assert "(was not shown)" in comparison_text(comparison, GATE)
    back = compared(broken, silent)
    assert [finding.slug for finding, _ in back.findings_eased] == ["rod-distance"]
    assert back.status(GATE) == 0


def test_a_waiver_taken_out_is_worse_and_one_put_in_where_no_book_lets_it() -> None:
    plain = sub("20 ft from the pole", "9 ft from the pole")(text_of(SINGLE))
    waived = sub("^stage isolate", 'waive rod-distance because "rock" by "engineer" until 2026-12-31\n\nstage isolate')(
        plain
    )
    begun = compared(plain, waived)
    assert begun.status(GATE) == 1
    assert "rod-distance] (was broken, waived)" in comparison_text(begun, GATE, only_worse=True)
    assert "waiving what was not waived before makes it worse" in comparison_text(begun, GATE)
    unsafe = compared(text_of(SINGLE), waived)
    assert "rod-distance] (new, waived)" in comparison_text(unsafe, GATE, only_worse=True)
    assert compared(waived, waived.replace("rock", "bare rock")).status(GATE) == 0
    comparison = compared(waived, plain)
    assert comparison.status(GATE) == 1
    assert "(was waived)" in comparison_text(comparison, GATE)


def test_a_line_no_longer_read_is_worse_whatever_else() -> None:
    old = text_of(SINS)
    assert compared(old, old + "  99. sett\n").status(Severity.DANGER) == 1
    assert compared(old + "  99. sett\n", old + "# more\n  99. sett\n").same
    assert compared(old + "  99. sett\n", old).status(GATE) == 0


# ------------------------------------------------------------- what always holds


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_other_names_for_equipment_and_people_change_nothing(seed: int, random) -> None:  # type: ignore[no-untyped-def]
    text = sound_plan(seed)
    plan = read_plan(Source("plan.tpg", text)).plan
    kinds = ("Lead", "Rod", "Bar", "Detector", "Tester", "Stick")
    words = set(re.findall(r"\w+", text))
    names = [t.name for t in plan.things if type(t).__name__ in kinds and t.name in words]
    others = [f"X{number}y" for number in range(len(names))]
    random.shuffle(others)
    mapping = dict(zip(names, others, strict=True))
    made = re.sub(r"\b\w+\.\.\w+\b|\w+", lambda m: spread(m[0], mapping), text)
    other = read_plan(Source("other.tpg", made)).plan
    laid = likeness(plan, other)
    assert (laid.lost, laid.gained, laid.changed, laid.moved) == ((), (), (), ())
    assert {a.name: b.name for a, b in laid.things.items() if a.name in mapping} == mapping


def spread(word: str, names: dict[str, str]) -> str:
    """A name in its new form; a range name by name."""
    if ".." not in word:
        return names.get(word, word)
    first, last = word.split("..")
    head = first.rstrip("0123456789")
    return " ".join(
        names.get(f"{head}{number}", f"{head}{number}")
        for number in range(int(first[len(head) :]), int(last[len(head) :]) + 1)
    )


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_a_step_taken_out_is_the_step_lost(seed: int, which: int) -> None:
    text = sound_plan(seed)
    lines = text.splitlines(keepends=True)
    plan = read_plan(Source("plan.tpg", text)).plan
    steps = sorted({action.span.line for action in plan.actions if action.use is None})
    line = steps[which % len(steps)]
    made = "".join(one for number, one in enumerate(lines, 1) if number != line)
    other = read_plan(Source("other.tpg", made)).plan
    laid = likeness(plan, other)
    gone = len(plan.actions) - len(other.actions)
    assert len(laid.lost) == gone > 0
    assert (laid.gained, laid.changed) == ((), ())
    kinds = Counter(action.kind for action in plan.actions if action.span.line == line)
    assert kinds <= Counter(plan.actions[at].kind for at in laid.lost)  # `leave all` names fewer if fewer went up
    assert [(b, a) for a, b in laid.kept] == list(likeness(other, plan).kept)


@pytest.mark.parametrize("name", [DUAL, SINGLE, SINS, "small-neutral.tpg", "delta-jumper.tpg"])
def test_a_plan_and_another_are_not_the_same(name: str) -> None:
    comparison = compared(text_of(name), text_of("steel-shield-wire.tpg"))
    assert not comparison.same
    assert comparison.lost
    assert comparison.gained


@pytest.mark.parametrize(
    ("value", "unit", "reported"),
    [
        (12470.0, "V", "12,470 V"),
        (12345.0, "A", "12,345 A"),
        (14.96 * 0.3048, "m", "4.559808 m (14.96 ft)"),
        (0.0612345, "", "0.0612345"),
    ],
)
def test_what_a_plan_states_is_reported_with_all_its_digits(value: float, unit: str, reported: str) -> None:
    assert amount(value, unit, STATED_DIGITS) == reported


def test_what_is_computed_is_rounded_but_never_to_an_exponent_of_ten() -> None:
    assert [amount(v, "V", FIGURES) for v in (28.2249, 12473.4, 0.00093379)] == ["28.2 V", "12,473 V", "0.000934 V"]

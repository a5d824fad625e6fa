"""Edits that rules offer: reported only where the plan with them is mended, and what they write."""

from __future__ import annotations

from pathlib import Path

import pytest
from crowd import reviewer

from groundlint.findings.fingerprint import fingerprints
from groundlint.findings.model import Kind, Review
from groundlint.findings.repairs import Vain, edits_that_mend, mended
from groundlint.text import Source
from groundlint.text.edits import Edit, edited

SOUND = Path(__file__).parents[2] / "examples" / "dual-point-crossarm.tpg"
CLEAN = " 14. clean   SC16 N A B C\n"


def spoiled(*changes: tuple[str, str]) -> str:
    text = SOUND.read_text("utf-8")
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return text


def looked_at(text: str, name: str = "plan.tpg") -> tuple[Review, list[tuple[str, Edit]]]:
    """The review of a text, and each edit that mends with the rule that offers it."""
    review = reviewer().review(Source(name, text))
    edits = reviewer().repairs(review)
    assert len(edits) == len(review.findings)
    return review, [(finding.slug, edit) for finding, edit in zip(review.findings, edits, strict=True) if edit]


@pytest.mark.parametrize(
    ("changes", "rules", "lines"),
    [
        (
            ((CLEAN, ""),),
            {"clean-contact"},
            {"15a. clean SC16 N\n", "16a. clean SC16 A\n", "17a. clean SC16 B\n", "18a. clean SC16 C\n"},
        ),
        (
            (("  1. brief     all\n", ""),),
            {"briefing-before-work", "briefing-opens-the-job", "holder-briefed"},
            {" 6b. brief Brant\n", "20a. brief Heron\n", "20a. brief Rook\n", " 7a. brief all\n"},
        ),
        (
            (
                ("open      RC12, seen open,", "open      RC12,"),
                ("SC14 normally closed remote", "SC14 normally closed remote no visible gap"),
            ),
            {"visible-gap-or-verified"},
            {" 4a. verify RC12 is open\n"},
        ),
        (((" 10. inspect P1 P2 P3 P4\n", ""),), {"inspected-before-use"}, None),
        (
            (("detach P4 from SC16 C by H1, then from K3", "detach P4 from K3, then from SC16 C by H1"),),
            {"line-end-off-first"},
            {"SC16 C by H1", "K3"},
        ),
    ],
)
def test_a_plan_with_the_edits_is_mended(
    changes: tuple[tuple[str, str], ...], rules: set[str], lines: set[str] | None
) -> None:
    text = spoiled(*changes)
    review, offered = looked_at(text)
    assert {rule for rule, _ in offered} == rules
    if lines is not None:
        assert {put for _, edit in offered for _, put in edit.pieces} == lines
    for rule, edit in offered:
        again = reviewer().review(Source("plan.tpg", edited(review.plan.source, [edit]).text))
        assert not again.plan.unread
        assert len([f for f in again.findings if f.slug == rule]) < len([f for f in review.findings if f.slug == rule])
        assert len(again.findings) < len(review.findings)
    places = [edit.pieces[0][0].line for _, edit in offered]
    if len(set(places)) == len(places):  # two lines at one place would carry one number
        whole = edited(review.plan.source, [edit for _, edit in offered]).text
        assert [f.slug for f in reviewer().review(Source("plan.tpg", whole)).findings] == []


def test_the_ends_of_a_bond_are_swapped() -> None:
    text = (SOUND.parent / "single-point-insulator.tpg").read_text("utf-8")
    before, after = "attach    W4 to K4, then to OS07 A by H3", "bond OS07 A to K4 with W4 by H3"
    assert before in text
    review, [(rule, edit)] = looked_at(text.replace(before, after))
    assert rule == "ground-end-first"
    assert "bond K4 to OS07 A with W4 by H3" in edited(review.plan.source, [edit]).text


def test_the_ends_of_a_lead_to_the_neutral_are_swapped() -> None:
    """What is asked of a lead that hangs on a phase alone is asked no more, and is no reason against it."""
    text = (SOUND.parent / "single-point-insulator.tpg").read_text("utf-8")
    before, after = "attach    W2 to K4, then to OS07 N by H3", "attach W2 to OS07 A by H3, then to OS07 N by H3"
    assert before in text
    _, offered = looked_at(text.replace(before, after))
    assert any(rule == "ground-end-first" and "swap the ends" in edit.says for rule, edit in offered)


def test_in_markdown_with_the_line_ends_of_the_file() -> None:
    text = "# The job\n\n```tpg\n" + spoiled((CLEAN, "")) + "```\n\nDone.\n"
    text = text.replace("\n", "\r\n")
    review, offered = looked_at(text, "plan.md")
    whole = edited(review.plan.source, [edit for _, edit in offered]).text
    assert len(offered) == 4
    assert "\r\n15a. clean SC16 N\r\n 16. attach" in whole
    assert [f.slug for f in reviewer().review(Source("plan.md", whole)).findings] == []


def test_within_a_routine_no_line_is_put_in() -> None:
    """Its lines stand for several places, so that what is right for one may not be for another: a step goes before the
    line that does the routine, or nowhere."""
    text = spoiled(("  clean     S N A B C\n", ""))
    review, offered = looked_at(text)
    assert "clean-contact" in {finding.slug for finding in review.findings}
    begin, end = text.index("routine bracket"), text.index("stage isolate")
    for _, edit in offered:
        assert not any(begin <= span.start < end for span, _ in edit.pieces)


def test_how_a_step_is_done_is_added_within_a_routine() -> None:
    text = spoiled(("test      S A B C with D1 on H2", "test      S A B C with D1"))
    review, _ = looked_at(text)
    assert {finding.slug for finding in review.findings} == {"test-by-stick", "test-stick-long-enough"}
    whole = reviewer().mended(review).review
    assert [one.slug for one in whole.findings] == []
    assert "  test      S A B C with D1 on H1\n" in whole.plan.source.text


def test_a_plan_without_steps_gets_none() -> None:
    assert looked_at('plan "x"\n')[1] == []


def test_a_waived_finding_gets_no_edit() -> None:
    waiver = 'waive inspected-before-use because "new leads" by "engineering supervisor" until 2026-12-31\n'
    text = spoiled((" 10. inspect P1 P2 P3 P4\n", ""))
    assert {slug for slug, _ in looked_at(text)[1]} == {"inspected-before-use"}
    at = text.index("stage isolate")
    _, offered = looked_at(text[:at] + waiver + text[at:])
    assert offered == []


def test_an_edit_that_would_break_something_else_is_not_reported() -> None:
    """The step above has taken the number that the new line would carry."""
    text = spoiled((CLEAN, ""), (" 15. mount   K3", " 15. wait 5 min\n15a. mount   K3"))
    _, offered = looked_at(text)
    assert {put for _, edit in offered for _, put in edit.pieces} >= {"15b. clean SC16 N\n"}
    text = spoiled((CLEAN, ""), (" 16. attach  P1", "15z. wait 1 min\n 16. attach  P1"))
    review, offered = looked_at(text)
    assert not any(edit.pieces[0][1].endswith("SC16 N\n") for _, edit in offered)
    assert "clean-contact" in {finding.slug for finding in review.findings}


def test_an_edit_that_breaks_what_was_not_shown_is_not_reported() -> None:
    """One rule has one fingerprint, broken or not shown; an edit may not make the one of the other."""
    text = spoiled((CLEAN, ""), ("soil      85 ohm m\n", ""))
    review = reviewer().review(Source("plan.tpg", text))
    assert "soil-given" in {one.slug for one in review.findings if one.kind is Kind.UNSHOWN}

    def again(source: Source, kind: Kind) -> Review:
        found = reviewer().review(source)
        for one in found.findings:
            if one.kind is Kind.UNSHOWN:
                object.__setattr__(one, "kind", kind)
        return found

    reported = edits_that_mend(review, lambda source: again(source, Kind.UNSHOWN))
    assert [edit is not None for edit in reported] == [one.slug == "clean-contact" for one in review.findings]
    assert set(edits_that_mend(review, lambda source: again(source, Kind.BROKEN))) == {None}


def test_a_plan_is_mended_until_nothing_more_can_be() -> None:
    """The steps that clean stand at one place each, so that two rounds are wanted at least; no line is lost."""
    text = spoiled((CLEAN, ""), (" 10. inspect P1 P2 P3 P4\n", ""), ("  1. brief     all\n", ""))
    review, offered = looked_at(text)
    whole = reviewer().mended(review)
    assert [one.slug for one in whole.review.findings] == []
    assert {one.slug for one in whole.made} <= {slug for slug, _ in offered}
    lines = whole.review.plan.source.text.splitlines()
    assert [line for line in lines if line in text.splitlines()] == text.splitlines()
    assert not whole.stopped
    assert reviewer().mended(whole.review) == (whole.review, (), False, ())


def test_what_holds_from_a_step_on_is_named_by_that_step() -> None:
    """A step put in after it is not what the finding is about, and makes it no other."""
    hold = ' 20. hold    "until Brant has walked all three structures and counted fourteen leads"\n'
    review = reviewer().review(Source("plan.tpg", spoiled((hold, ""))))
    noted = spoiled((hold, ""), (" 22. work ", ' 21a. note "mind the wasps"\n 22. work '))
    assert {*fingerprints(review)} <= {*fingerprints(reviewer().review(Source("plan.tpg", noted)))}
    (made,) = reviewer().mended(review).made
    assert made.slug == "hold-before-first-touch"
    assert made.step.startswith("step 21, ")


def test_so_many_reviews_and_no_more_are_made() -> None:
    review, _ = looked_at(spoiled((CLEAN, "")))
    tries = 0

    def again(source: Source) -> Review:
        nonlocal tries
        tries += 1
        return review  # mends nothing

    whole = mended(review, again, most=2)
    assert (whole.review, whole.made, whole.stopped, tries) == (review, (), True, 2)


def test_no_circuit_is_solved_for_an_edit_that_fails_by_another_rule() -> None:
    review, _ = looked_at(spoiled((CLEAN, "")))
    solved: list[Source] = []

    def again(source: Source) -> Review:
        solved.append(source)
        return reviewer().review(source)

    def first(source: Source, later: set[str]) -> Review:
        later.add("exposure-below-limit")
        return reviewer().review(source)

    whole = mended(review, again, first)
    assert whole.made == reviewer().mended(review).made
    assert (len(whole.made), len(solved)) == (4, 1)

    def in_vain(_: Source, later: set[str]) -> Review:
        later.add("exposure-below-limit")
        return review

    solved.clear()
    assert set(edits_that_mend(review, again, in_vain)) == {None}
    assert solved == []


def test_of_an_edit_that_mends_nothing_it_is_known_why() -> None:
    review, _ = looked_at(spoiled((CLEAN, "")))
    sound = reviewer().review(Source("plan.tpg", spoiled()))

    def whole(again: str | None) -> Vain:
        found = mended(review, lambda source: review if again is None else reviewer().review(Source("plan.tpg", again)))
        return next(one for one in found.vain if one.slug == "clean-contact")

    stays = whole(None)
    assert (stays.kind, stays.why) == (None, "")
    unread = whole(sound.plan.source.text.replace("dual-point", "dual-pint"))
    assert unread.kind is Kind.UNREAD
    broken = whole(spoiled((" 10. inspect P1 P2 P3 P4\n", "")))
    assert (broken.kind, broken.why) == (Kind.BROKEN, "inspected-before-use")
    unasked = whole(spoiled((CLEAN, ""), ("  approach  4 ft\n", "")))
    assert (unasked.kind, unasked.why) == (None, "approach-distance-enough")


def test_what_an_edit_brings_about_is_mended_with_it() -> None:
    """Neither of two releases mends anything alone; and a test that is put in wants the switch verified before it."""
    received = "  7. clearance SaddleCreek received by Brant\n"
    text = spoiled(
        (received, received + " 7a. clearance SaddleCreek received by Heron\n"),
        (" 31. dismount K1 K2\n 32. clearance SaddleCreek released by Brant\n", ""),
    )
    whole = reviewer().mended(reviewer().review(Source("plan.tpg", text)))
    assert [one.slug for one in whole.review.findings] == []
    *bars, made = whole.made
    assert len(bars) == 2
    assert made.says.count("clearance released by") == 3  # one of them is put in after the other
    assert "; and at step 7" in made.says
    lines = [line.split() for line in whole.review.plan.source.text.splitlines() if "released by" in line]
    assert sorted(words[0] for words in lines) == ["30c.", "30d."]


def test_steps_of_one_line_are_moved_once() -> None:
    opened = "  4. open      RC12, seen open, lock it and tag it\n"
    received = "  7. clearance SaddleCreek received by Brant\n"
    text = spoiled((opened, ""), (received, received + " 7a. open RC12, seen open, tag it\n 7b. lock RC12\n"))
    whole = reviewer().mended(reviewer().review(Source("plan.tpg", text)))
    assert [one.slug for one in whole.review.findings] == []
    assert [one.says for one in whole.made] == [
        "move `open RC12, seen open, tag it` to before this step; move `lock RC12` to before this step"
    ]


def test_a_step_worded_anew_keeps_its_findings() -> None:
    """A finding names its step in its words, and those are others once the ends are swapped."""
    text = spoiled(
        (" 10. inspect P1 P2 P3 P4\n", ""),
        ("detach P4 from SC16 C by H1, then from K3", "detach P4 from K3, then from SC16 C"),
    )
    review, offered = looked_at(text)
    assert "off-by-stick" in {one.slug for one in review.findings}
    assert "line-end-off-first" in {slug for slug, _ in offered}

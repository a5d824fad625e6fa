"""Waivers that count and that do not, the gate's status, and the ask list, on small plans under the shipped books."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from crowd import reviewer_by

from groundlint.cli import main
from groundlint.findings import Kind, Review
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.text import Severity, Source

PLAN = """\
plan "Look at a pole"
document PR-1 revision 1 dated 2026-03-02
{waiver}
rod R1 6 ft x 5/8 in
structure 211 wood pole
stage ground
  1. set R1 at 211, 6 ft from the pole, 6 ft deep
"""


@pytest.fixture(scope="module")
def reviewer() -> Reviewer:
    return reviewer_by(*DEFAULT_BOOKS)


def reviewed(reviewer: Reviewer, waiver: str = "") -> Review:
    return reviewer.review(Source("plan.tpg", PLAN.format(waiver=waiver)))


def slugs(review: Review, kind: Kind | None = None) -> list[str]:
    return [f.slug for f in review.open_findings if kind is None or f.kind is kind]


def test_a_rule_is_broken_without_a_waiver(reviewer: Reviewer) -> None:
    review = reviewed(reviewer)
    assert "rod-distance" in slugs(review, Kind.BROKEN)
    assert review.status() == 1


@pytest.mark.parametrize("subject", ["", " for R1"])
def test_a_waiver_with_reason_role_and_end_date_is_listed_and_does_not_fail(reviewer: Reviewer, subject: str) -> None:
    waiver = f'waive rod-distance{subject} because "rock" by "engineering supervisor" until 2026-12-31'
    review = reviewed(reviewer, waiver)
    assert "rod-distance" not in slugs(review)
    assert [f.slug for f in review.waived] == ["rod-distance"]
    assert review.waived[0].waiver is not None
    assert slugs(review, Kind.WAIVER) == []


@pytest.mark.parametrize(
    ("waiver", "code"),
    [
        ('waive rod-distance by "supervisor" until 2026-12-31', "waiver-incomplete"),
        ('waive rod-distance because "rock" until 2026-12-31', "waiver-incomplete"),
        ('waive rod-distance because "rock" by "supervisor"', "waiver-incomplete"),
        ('waive rod-distance because "rock" by "supervisor" until 2026-03-01', "waiver-ended"),
        ('waive rod-distanse because "rock" by "supervisor" until 2026-12-31', "waiver-of-no-rule"),
        ('waive rod-full-depth because "rock" by "supervisor" until 2026-12-31', "waiver-unused"),
        ('waive rod-distance for 211 because "rock" by "supervisor" until 2026-12-31', None),
    ],
)
def test_a_waiver_that_is_not_what_it_should_be_is_a_finding(reviewer: Reviewer, waiver: str, code: str | None) -> None:
    review = reviewed(reviewer, waiver)
    found = slugs(review, Kind.WAIVER)
    if code is not None:
        assert found == [code]
        assert "rod-distance" in slugs(review, Kind.BROKEN)
    else:  # the rule binds the structure too
        assert found in ([], ["waiver-unused"])


def test_a_waiver_of_a_rule_that_a_book_bars_covers_nothing_and_is_a_finding(tmp_path: Path) -> None:
    home = tmp_path / "own"
    home.mkdir()
    (home / "book.book").write_text(
        'book own\n  title "t"\n  scope "s"\n  edition "e"\n  adopt practice\n'
        '  may-not-waive rod-distance because "two were hurt"\n'
    )
    book, problems = load_rulebook("own", [tmp_path])
    assert book is not None
    assert not problems
    review = reviewed(Reviewer([book]), 'waive rod-distance because "rock" by "supervisor" until 2026-12-31')
    assert slugs(review, Kind.WAIVER) == ["waiver-not-allowed"]
    assert "rod-distance" in slugs(review, Kind.BROKEN)
    assert [f.message for f in review.findings if f.kind is Kind.WAIVER] == [
        "book own lets no plan waive rod-distance: two were hurt"
    ]
    assert review.waived == ()


def own_book(folder: Path, *clauses: str) -> Reviewer:
    home = folder / "own"
    home.mkdir()
    head = ("book own", '  title "t"', '  scope "s"', '  edition "e"', "  adopt practice", "  adopt us-29cfr1910-269")
    (home / "book.book").write_text("\n".join((*head, *clauses)) + "\n")
    book, problems = load_rulebook("own", [folder])
    assert book is not None
    assert not problems
    return Reviewer([book])


@pytest.mark.parametrize(("until", "code"), [("2026-06-01", None), ("2026-06-02", "waiver-too-long")])
def test_a_waiver_stands_no_longer_than_a_book_lets_it(tmp_path: Path, until: str, code: str | None) -> None:
    strict = own_book(tmp_path, '  set waiver-longest 91 days because "a season"')
    review = reviewed(strict, f'waive rod-distance because "rock" by "supervisor" until {until}')
    assert slugs(review, Kind.WAIVER) == ([code] if code else [])
    assert ("rod-distance" in slugs(review, Kind.BROKEN)) == bool(code)


def test_the_shipped_books_let_a_waiver_stand_for_a_year(reviewer: Reviewer) -> None:
    review = reviewed(reviewer, 'waive rod-distance because "rock" by "supervisor" until 2036-12-31')
    assert slugs(review, Kind.WAIVER) == ["waiver-too-long"]
    (found,) = (one.message for one in review.findings if one.kind is Kind.WAIVER)
    assert found == (
        "the waiver of rod-distance stands until 2036-12-31, more than 366 days from the plan's date; it waives nothing"
    )


def test_a_setting_of_area_is_a_wire_size_and_stands_in_message_and_advice(tmp_path: Path) -> None:
    strict = own_book(tmp_path, '  set lead-minimum 4/0 AWG because "our faults"')
    lead = "lead G1 2/0 copper 10 ft\nbar K1"
    step = "  2. mount K1 at 211 below the feet\n  3. attach G1 to K1\n"
    review = strict.review(Source("plan.tpg", PLAN.format(waiver=lead) + step))
    (found,) = (one for one in review.findings if one.slug == "lead-minimum-size")
    assert found.message.endswith("less than 4/0 AWG copper")
    assert found.mend == "use a lead of 4/0 AWG copper or larger"


def test_a_waiver_holds_to_the_end_of_its_last_day(reviewer: Reviewer) -> None:
    review = reviewed(reviewer, 'waive rod-distance because "rock" by "supervisor" until 2026-03-02')
    assert [f.slug for f in review.waived] == ["rod-distance"]


def test_a_waiver_past_its_end_on_the_day_of_the_review_covers_nothing(reviewer: Reviewer) -> None:
    waiver = 'waive rod-distance because "rock" by "supervisor" until 2026-03-09'
    assert slugs(reviewed(Reviewer(reviewer.books, date(2026, 3, 9)), waiver), Kind.WAIVER) == []
    late = reviewed(Reviewer(reviewer.books, date(2026, 3, 10)), waiver)
    assert slugs(late, Kind.WAIVER) == ["waiver-ended"]
    assert "rod-distance" in slugs(late, Kind.BROKEN)
    (found,) = (one for one in late.findings if one.kind is Kind.WAIVER)
    assert found.message == "the waiver of rod-distance ended on 2026-03-09, and this review is as of 2026-03-10"


def test_the_command_holds_waivers_against_the_day_of_the_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = tmp_path / "plan.tpg"
    plan.write_text(
        PLAN.format(waiver='waive rod-distance because "rock" by "supervisor" until 2026-03-09'), encoding="utf-8"
    )
    monkeypatch.setattr("groundlint.commands.common.today", lambda: date(2026, 3, 10))
    main(["review", "--no-cache", str(plan)])
    assert "this review is as of 2026-03-10" in capsys.readouterr().out
    main(["review", "--no-cache", "--as-of", "2026-03-09", str(plan)])
    out = capsys.readouterr().out
    assert "Waived in the plan, as of 2026-03-09:" in out
    assert main(["review", "--as-of", "tomorrow", str(plan)]) == 3
    assert "write a day, such as 2026-12-31" in capsys.readouterr().err


def test_a_waiver_of_a_rule_that_waits_for_the_circuit_is_not_called_unused(reviewer: Reviewer) -> None:
    text = (Path(__file__).parents[2] / "examples" / "deliberate-sins.tpg").read_text("utf-8")
    waiver = 'waive exposure-below-limit because "mats" by "engineering supervisor" until 2026-12-31\n'
    text = text.replace("stage ", f"{waiver}stage ", 1)
    later: set[str] = set()
    first = reviewer.review(Source("plan.tpg", text), later=later)
    assert "exposure-below-limit" in later
    assert [one.message for one in first.findings if one.kind is Kind.WAIVER] == []


def test_what_is_not_shown_fails_with_status_2_and_a_line_not_read_with_1(reviewer: Reviewer) -> None:
    text = "rod R1 6 ft x 5/8 in\nstructure 211 wood pole\nset R1 at 211, 6 ft deep\n"
    review = reviewer.review(Source("plan.tpg", text))
    assert not any(f.kind is Kind.BROKEN and f.level >= Severity.DANGER for f in review.findings)
    assert any(f.slug == "rod-distance" and f.kind is Kind.UNSHOWN for f in review.findings)
    assert review.status(Severity.DANGER) in (0, 2)
    unread = reviewer.review(Source("plan.tpg", text + "gibberish\n"))
    assert unread.status(Severity.DANGER) == 1


def test_the_ask_list_puts_first_what_is_gravest_and_then_what_most_rules_wait_for(reviewer: Reviewer) -> None:
    text = PLAN.format(waiver="").replace("6 ft from the pole, ", "").replace(" dated 2026-03-02", "")
    asks = reviewer.review(Source("plan.tpg", text)).asks()
    ranks = [(ask.level, len(ask.rules)) for ask in asks]
    assert ranks == sorted(ranks, reverse=True)
    assert any("R1" in ask.fact and ask.paste for ask in asks)
    assert len({ask.fact for ask in asks}) == len(asks)

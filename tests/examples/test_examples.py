"""Every example reviewed as a user would review it: it must get exactly the findings that its lines declare. Every
stable rule of the books that come with groundlint fires on a plan of sins, and on no sound plan that claims its book.

A line declares findings in a comment at its end, or in comment lines right above it: ``# finds: slug, slug`` for rules
that are broken there, ``# not shown: slug`` for rules that the plan does not say enough for. ``# books: NAME`` names
the books that a plan is written for, where they are not the default ones.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from pathlib import Path

import pytest

from groundlint.cli import main
from groundlint.findings.model import Kind, Review
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.rulebook.load import available
from groundlint.rulebook.model import Rule
from groundlint.rulebook.shipped import shipped
from groundlint.text import Severity, Source
from groundlint.text.decode import decode
from groundlint.values import Truth

FOLDER = Path(__file__).parents[2] / "examples"
BOOKS = FOLDER / "quillback-rules"
SHIPPED = available([shipped()])
SINS = (
    "deliberate-cable.tpg",
    "deliberate-earthing.tpg",
    "deliberate-handbooks.tpg",
    "deliberate-hands.tpg",
    "deliberate-leads.tpg",
    "deliberate-lone-hand.tpg",
    "deliberate-next-pole.tpg",
    "deliberate-open-wire.tpg",
    "deliberate-out-of-reach.tpg",
    "deliberate-overload.tpg",
    "deliberate-second-day.tpg",
    "deliberate-secondary.tpg",
    "deliberate-silence.tpg",
    "deliberate-sins.tpg",
    "deliberate-slips.tpg",
    "deliberate-ungrounded.tpg",
)
COMPARED = "comparison"
"""A folder of one site under several arrangements, most of which must not be sound; it has a test of its own."""
OWN_BOOK = ("old-revision.tpg",)
WAIVING = ("cable-splice.tpg",)
"""Sound plans in which rules are waived that ask for what is not computed."""
SOUND = (
    "bucket-cutouts.tpg",
    "customer-generation.tpg",
    "delta-jumper.tpg",
    "dual-point-crossarm.tpg",
    "earthing-words.tpg",
    "single-point-insulator.tpg",
    "small-neutral.tpg",
    "standard-procedure.tpg",
    "steel-shield-wire.tpg",
    "storm-repair.tpg",
    "two-crews-procedure.md",
    "two-days-first.tpg",
    "two-days-second.tpg",
)
NO_CLAIM = {
    "handbook-doe-hdbk-1092": {
        "customer-generation.tpg": "its fault lasts longer than the handbook's table of volts goes",
        "delta-jumper.tpg": "its leads do not say what their clamps fit",
        "dual-point-crossarm.tpg": "its leads do not say what their clamps fit",
        "single-point-insulator.tpg": "its leads do not say what their clamps fit",
        "standard-procedure.tpg": "its leads do not say what their clamps fit",
        "steel-shield-wire.tpg": "its leads do not say what their clamps fit",
        "storm-repair.tpg": "its leads do not say what their clamps fit",
        "two-crews-procedure.md": "its leads do not say what their clamps fit",
        "two-days-first.tpg": "its leads do not say what their clamps fit",
    },
    "handbook-mil-hdbk-1025-10": {
        "customer-generation.tpg": "two-point, and its leads name no clamps",
        "delta-jumper.tpg": "splices from the pole, and its leads name no clamps",
        "dual-point-crossarm.tpg": "two-point, and its leads name no clamps",
        "single-point-insulator.tpg": "leads below 2/0",
        "standard-procedure.tpg": "its leads name no clamps",
        "steel-shield-wire.tpg": "two-point, and its leads name no clamps",
        "storm-repair.tpg": "splices from the pole, and its leads name no clamps",
        "two-crews-procedure.md": "two-point, and its leads name no clamps",
        "two-days-first.tpg": "two-point, and its leads name no clamps",
        "two-days-second.tpg": "two-point, and its leads name no clamps",
    },
    "handbook-ufc-3-560-01": {
        "customer-generation.tpg": "its generation clears later than leads are rated for",
        "delta-jumper.tpg": "its leads name no clamps",
        "dual-point-crossarm.tpg": "its leads name no clamps",
        "single-point-insulator.tpg": "leads below 2/0",
        "standard-procedure.tpg": "its leads name no clamps",
        "steel-shield-wire.tpg": "its leads name no clamps",
        "storm-repair.tpg": "its trucks stand on no rod of their own, and its leads name no clamps",
        "two-crews-procedure.md": "its leads name no clamps",
        "two-days-first.tpg": "its leads name no clamps",
        "two-days-second.tpg": "its leads name no clamps",
    },
    "equipment-f855": {
        name: "its leads are of plain grades, and do not say the grade of their clamps"
        for name in SOUND
        if name != "steel-shield-wire.tpg"
    },
    "electrical": {},
    "en-50110": {},
    "ieee-c2": {},
    "us-29cfr1926-v": {},
}
"""Books beside the default ones, and the sound plans that are not written for them, with the reason."""

SAID_AS = {"finds": Kind.BROKEN, "not shown": Kind.UNSHOWN}

NOT_IN_A_SOUND_PLAN = {
    "machine-bonded-under-its-people": "nobody of the examples is on a machine whose boom is not insulated",
    "clamps-kept-off-live-side": "no open point of the examples hangs beside a clamp",
    "live-side-out-of-hand": "nobody of the examples has an open point in hand, but for its handle",
    "machine-grounded-beside-live-parts": "no crane of the examples works beside a live part",
    "loose-wire-made-fast": "no wire of the examples is handled loose",
    "loose-wire-in-hands-of-one-place": "no wire of the examples is handled loose",
    "down-in-a-thunderstorm": "no words of the examples speak of a thunderstorm",
    "crew-clear-of-lifted-ground": "nobody of the examples is up while a ground is lifted",
    "tested-dead-in-reach": "no example goes without grounds",
    "down-before-the-last-ground": "nobody of the examples is up at another pole when a set comes off",
    "live-finding-settled": "no test of the examples finds a conductor live",
    "voltage-stops-the-grounding": "no test of the examples finds a conductor live",
    "open-point-in-reach-bridged": "no open point of the examples hangs beside the work",
    "hands-off-after-release": "nothing is done at a pole of the examples once the clearance is given back",
    "nobody-up-after-release": "nobody of the examples goes up once the clearance is given back",
    "reclosing-stays-blocked-while-occupied": "no reclosing of the examples is put back",
    "briefed-again-after-a-pause": "no example pauses",
    "gloves-rated-and-tested": "gloves of the examples are worn where all that is in reach is grounded",
    "equipment-watched-near-live-parts": "no crane of the examples works beside a live part",
    "found-open-verified": "no switch of the examples stands open, and said to, before the plan begins",
    "gloves-where-no-stick": "no line of the examples is of 600 V or less",
    "ganged-leads-match": "no lead lies beside another in the examples",
    "pause-under-clearance": "no example pauses with leads on; a job over two days is two plans there",
    "pause-with-nobody-up": "no example pauses",
    "proven-on-a-live-part": "every detector of the examples is proven on a tester",
    "rod-pulled-last": "no rod of the examples is pulled",
    "worker-at-the-work": "no step of the examples names who works",
    "worker-reaches-the-work": "no step of the examples names what is worked on",
}
"""Rules that apply to none of the sound plans."""

Mark = tuple[int, str, Kind]

_DECLARED = re.compile(r"#\s*(finds|not shown):\s*([a-z0-9-]+(?:\s*,\s*[a-z0-9-]+)*)\s*$")
_BOOKS = re.compile(r"^#\s*books:\s*(.+)$", re.MULTILINE)


def declared(text: str) -> set[Mark]:
    """What a plan's comments say that the review finds: line, rule, kind."""
    found: set[Mark] = set()
    waiting: list[tuple[str, Kind]] = []
    for number, line in enumerate(text.split("\n"), 1):
        match = _DECLARED.search(line)
        said = [(slug.strip(), SAID_AS[match[1]]) for slug in match[2].split(",")] if match else []
        if match and not line[: match.start()].strip():
            waiting += said
            continue
        if line.strip():
            found.update((number, slug, kind) for slug, kind in (*waiting, *said))
            waiting = []
    assert not waiting, f"declared after the last line: {waiting}"
    return found


def claimed(name: str) -> tuple[str, ...]:
    """The books that an example says it is written for."""
    match = _BOOKS.search((FOLDER / name).read_text(encoding="utf-8"))
    return tuple(match[1].replace(",", " ").split()) if match else DEFAULT_BOOKS


def plans() -> list[Path]:
    """The plans that the command finds in the folder, without those of `COMPARED` and of the course, which has
    tests of its own."""
    from groundlint.commands.settings import SettingsFinder
    from groundlint.commands.walk import find_plans

    found = find_plans([str(FOLDER)], SettingsFinder()).plans
    return [path for path in found if path is not None and not {COMPARED, "course"} & set(path.parts)]


@cache
def reviewer(books: tuple[str, ...]) -> Reviewer:
    loaded = []
    for name in books:
        book, problems = load_rulebook(name, [BOOKS])
        assert book is not None
        assert not problems, [(problem.span.source.name, problem.span.line, problem.message) for problem in problems]
        loaded.append(book)
    return Reviewer(loaded)


def used(name: str) -> Source | str:
    source, problems = decode((FOLDER / name).read_bytes(), name)
    return problems[0].message if problems else source


@lru_cache(maxsize=32)
def reviewed(name: str, books: tuple[str, ...] = DEFAULT_BOOKS) -> Review:
    source, problems = decode((FOLDER / name).read_bytes(), name)
    return reviewer(books).review(source, used, None, problems)


def said(review: Review) -> list[str]:
    return [f"{f.span.source.name}:{f.span.line}: {f.kind.value}: {f.message} [{f.slug}]" for f in review.findings]


def run(*arguments: str) -> int:
    return main(list(arguments))


def slugs(reviews: Iterable[Review], kind: Kind) -> set[str]:
    return {finding.slug for review in reviews for finding in review.findings if finding.kind is kind}


def test_all_examples_are_collected() -> None:
    assert sorted(path.name for path in plans()) == sorted((*SOUND, *SINS, *OWN_BOOK, *WAIVING))


def test_declarations_are_read_at_their_lines() -> None:
    text = "plan\n# finds: a-b, c\n# not shown: d\n 1. open S  # finds: e\n\n 2. tag S # not shown: f\n"
    assert declared(text) == {
        (4, "a-b", Kind.BROKEN),
        (4, "c", Kind.BROKEN),
        (4, "d", Kind.UNSHOWN),
        (4, "e", Kind.BROKEN),
        (6, "f", Kind.UNSHOWN),
    }


@pytest.mark.parametrize("name", [*SOUND, *SINS, *OWN_BOOK, *WAIVING])
def test_findings_are_exactly_those_declared(name: str) -> None:
    text = (FOLDER / name).read_text(encoding="utf-8")
    review = reviewed(name, claimed(name))
    found = {(finding.span.line, finding.slug, finding.kind) for finding in review.findings}
    assert {finding.span.source.name for finding in review.findings} <= {name}
    assert found == declared(text), "\n".join(said(review))


@pytest.mark.parametrize("name", [*SOUND, *OWN_BOOK])
def test_a_sound_plan_gets_no_finding_at_any_level(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(reviewed(name)) == []
    assert run("review", "--gate", "notice", str(FOLDER / name)) == 0
    assert "0 rules broken, 0 not shown" in capsys.readouterr().out


def test_a_plan_with_a_cable_passes_where_what_no_table_can_compute_is_waived(
    capsys: pytest.CaptureFixture[str],
) -> None:
    (name,) = WAIVING
    books = DEFAULT_BOOKS
    assert reviewed(name, books).open_findings == ()
    assert run("review", "--gate", "notice", str(FOLDER / name)) == 0
    assert "0 rules broken" in capsys.readouterr().out
    computed = {rule.slug for rule in reviewer(("electrical",)).books[0].rules}
    waived = {finding.slug for finding in reviewed(name, books).waived}
    assert waived == {"clears-with-grounds-on", "exposure-below-limit", "lead-carries-duty"}
    assert waived <= computed


@pytest.mark.parametrize("name", SOUND)
def test_the_sound_plans_keep_the_cooperatives_own_rules_too(name: str) -> None:
    assert said(reviewed(name, ("quillback",))) == []


def test_every_book_is_claimed_by_a_sound_plan_and_by_a_plan_of_sins_that_breaks_its_own_rules() -> None:
    assert {*NO_CLAIM, *DEFAULT_BOOKS} == set(SHIPPED)
    assert [book for book, without in NO_CLAIM.items() if len(without) == len(SOUND)] == []
    with_own = {book for book in SHIPPED if any(rule.book == book for rule in asked(book))}
    assert with_own <= {book for name in SINS for book in claimed(name)}


CLAIMS = [(name, book) for book, without in NO_CLAIM.items() for name in SOUND if name not in without]


@pytest.mark.parametrize(("name", "book"), CLAIMS)
def test_a_sound_plan_gets_no_finding_under_a_book_that_it_claims(name: str, book: str) -> None:
    assert said(reviewed(name, (book,))) == []


@pytest.mark.parametrize("book", NO_CLAIM)
def test_a_plan_that_claims_no_book_gets_a_finding_under_it(book: str) -> None:
    assert [name for name in NO_CLAIM[book] if not said(reviewed(name, (book,)))] == []
    assert len(NO_CLAIM[book]) < len(SOUND)


def test_the_sound_plans_differ() -> None:
    """No two of them share a line or its route, but for the days of one job."""
    heads = []
    jobs = [name for name in SOUND if name != "two-days-second.tpg"]
    for name in jobs:
        plan = reviewed(name).plan
        assert plan.line is not None
        heads.append((plan.line.name, tuple(structure.name for structure in plan.route)))
    assert len({line for line, _ in heads}) == len(jobs)
    assert len({route for _, route in heads}) == len(jobs)
    assert {reviewed(name).plan.method for name in SOUND} == {"single-point", "dual-point"}


def test_what_fails_a_run_is_the_sins(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("review", str(FOLDER / "deliberate-silence.tpg")) == 2
    assert run("review", str(FOLDER / "deliberate-slips.tpg"), str(FOLDER / "two-crews-procedure.md")) == 1
    assert capsys.readouterr().out.count("(books: ") == 3


def asked(book: str) -> tuple[Rule, ...]:
    """The stable rules that a book asks, its own and those that it takes from others."""
    return tuple(rule for rule in reviewer((book,)).books[0].rules if rule.stable)


def never_broken(rules: Iterable[Rule]) -> set[str]:
    """Rules that no plan can break, since they ask for something to be said: each says in its file why it has no
    example that fails."""
    return {rule.slug for rule in rules if dict(rule.lacks).get("fails")}


def test_every_stable_rule_fires_on_a_plan_of_sins_that_claims_its_book(report: Callable[[str], None]) -> None:
    stable = [rule for book in SHIPPED for rule in asked(book) if rule.book == book]
    assert len({rule.slug for rule in stable}) == len(stable)
    broken: set[str] = set()
    unshown: set[str] = set()
    for name in SINS:
        books = claimed(name)
        review, own = reviewed(name, books), {rule.slug for rule in stable if rule.book in books}
        broken |= own & slugs([review], Kind.BROKEN)
        unshown |= own & slugs([review], Kind.UNSHOWN)
    only_unshown = never_broken(stable)
    report(f"plans of sins: {len(broken)} of {len(stable)} stable rules of {len(SHIPPED)} books are broken at a line")
    report(f"the other {len(only_unshown)} can only be not shown, and are: {', '.join(sorted(only_unshown))}")
    assert {rule.slug for rule in stable} - broken == only_unshown
    assert only_unshown <= unshown


@pytest.mark.parametrize("book", SHIPPED)
def test_what_a_book_asks_fires_on_a_plan_of_sins_under_that_book(book: str) -> None:
    """What it takes from others, by its own settings, too."""
    reviews = [reviewed(name, (book,)) for name in SINS]
    assert {rule.slug for rule in asked(book)} - slugs(reviews, Kind.BROKEN) == never_broken(asked(book))


@pytest.mark.one_in(4)
@pytest.mark.parametrize("name", [name for name in (*SOUND, *SINS, *OWN_BOOK, *WAIVING) if name.endswith(".tpg")])
def test_canonical_layout_changes_no_finding(name: str) -> None:
    """Laid out by `groundlint tidy`, a plan gets the same findings in the same order."""
    source, _ = decode((FOLDER / name).read_bytes(), name)
    laid_out = write_plan(read_statements(source).text)
    again = reviewer(DEFAULT_BOOKS).review(Source(name, laid_out), used)
    assert [(f.slug, f.kind, f.message) for f in again.findings] == [
        (f.slug, f.kind, f.message) for f in reviewed(name).findings
    ]


def test_every_line_of_the_sins_is_read_and_can_be_done() -> None:
    for name in SINS:
        review = reviewed(name)
        assert not review.plan.unread
        assert not slugs([review], Kind.UNREAD) | slugs([review], Kind.IMPOSSIBLE)


def test_every_rule_is_met_by_a_sound_plan() -> None:
    plans = (*SOUND, *WAIVING)
    met = {outcome.rule.slug for name in plans for outcome in reviewed(name).outcomes if outcome.truth is Truth.TRUE}
    every = {rule.slug for book in reviewer(DEFAULT_BOOKS).books for rule in book.rules}
    assert every - met == set(NOT_IN_A_SOUND_PLAN)


@pytest.mark.parametrize("given", ["fault=7.2kA", "site=PC07", "earth-rho=300 ohm m", "clearing=0.2 s"])
def test_the_standing_procedure_takes_values_of_a_site(given: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("review", "--given", given, str(FOLDER / "standard-procedure.tpg")) == 0
    assert "0 rules broken, 0 not shown" in capsys.readouterr().out


def test_the_standing_procedure_fails_with_a_value_that_can_not_be(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("review", "--given", "earth-rho=60000 ohm m", str(FOLDER / "standard-procedure.tpg")) == 1
    assert "[soil-given]" in capsys.readouterr().out


def test_the_cooperatives_book_is_text_alone() -> None:
    files = sorted(path.relative_to(BOOKS).as_posix() for path in BOOKS.rglob("*") if path.is_file())
    assert files == ["quillback/bases/base.tpg", "quillback/book.book", "quillback/ground.rule"]
    for name in files:
        (BOOKS / name).read_text(encoding="utf-8")


def test_the_cooperatives_book_checks(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("rules", "--book", "quillback", "--books-in", str(BOOKS), "--check") == 0
    found = re.search(r"(\d+) examples in", capsys.readouterr().out)
    assert found is not None
    assert int(found[1]) > 0


def test_the_cooperatives_book_changes_what_it_adopts_with_reasons() -> None:
    (book,) = reviewer(("quillback",)).books
    setting = book.settings["rod-distance"]
    assert [change.what for change in setting.changes] == ["set to 20 ft from 15 ft"]
    levels = {rule.slug: rule.level for rule in book.rules}
    assert levels["hold-before-first-touch"] is Severity.WARNING
    assert levels["inspected-before-use"] is Severity.NOTICE
    assert set(book.retired) == {"steps-numbered-in-order"}
    assert {rule.slug for rule in book.rules if rule.book == "quillback"} == {
        "barricade-far-enough",
        "foreman-stays-down",
    }
    default = {rule.slug for name in DEFAULT_BOOKS for rule in reviewer((name,)).books[0].rules}
    assert {rule.slug for rule in book.rules} == default - {"steps-numbered-in-order"} | {
        "barricade-far-enough",
        "foreman-stays-down",
    }
    changes = [*setting.changes, book.retired["steps-numbered-in-order"]]
    changes += [change for rule in book.rules for change in rule.changes]
    assert len(changes) == 4
    assert all(change.book == "quillback" and change.because for change in changes)


def test_the_old_revision_fails_the_cooperatives_book_alone(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(FOLDER / "old-revision.tpg")
    assert run("review", path) == 0
    assert run("review", "--book", "quillback", "--books-in", str(BOOKS), path) == 1
    out = capsys.readouterr().out
    assert "R30 is set 16 ft from WF05, nearer than 20 ft [rod-distance]" in out
    assert "[barricade-far-enough]" in out


def test_the_read_me_names_every_example() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert [name for name in (*SOUND, *SINS, *OWN_BOOK, *WAIVING, "quillback") if f"`{name}`" not in text] == []

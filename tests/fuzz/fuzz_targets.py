"""What is fuzzed: each way by which a text of somebody else's comes in, with what must hold of whatever comes out.

A target has a part that is cheap, of which the fuzzer watches which lines it comes to, and may have one that goes on
from there. Both raise for what must not be: any exception is a fault of ours, since a text may hold anything.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from crowd import reviewer

from groundlint.commands.settings import read_settings
from groundlint.facts import CATALOGUE
from groundlint.findings.compare import compare
from groundlint.findings.model import Kind, Review
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.reading import read_plan
from groundlint.report.comparison import comparison_text
from groundlint.report.text import review_text
from groundlint.rulebook.load import load_book
from groundlint.rulebook.shipped import shipped
from groundlint.teaching.aims import read_aims, rules_by_slug
from groundlint.teaching.feedback import feedback_html, feedback_text
from groundlint.teaching.finding_faults import Key, mark_faults, read_key
from groundlint.teaching.marking import Answer, mark_plan
from groundlint.teaching.scheme import Scheme, read_scheme
from groundlint.teaching.task import Task
from groundlint.text import Diagnostic, Severity, Source
from groundlint.text.decode import decode, visible
from groundlint.timeline import replay

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
LESSON = EXAMPLES / "course" / "lesson-1-one-lead"


class Target(NamedTuple):
    """``watched`` are folders of the package whose lines guide the fuzzer; ``seeds`` where it begins."""

    watched: tuple[str, ...]
    cheap: Callable[[bytes], object]
    whole: Callable[[bytes], object] | None
    seeds: Callable[[], Iterable[bytes]]


def files(*patterns: str) -> Callable[[], list[bytes]]:
    return lambda: [path.read_bytes() for pattern in patterns for path in sorted(ROOT.glob(pattern))]


# ------------------------------------------------------------------ plans
def placed(problems: Iterable[Diagnostic]) -> None:
    """Each problem has words, and a place inside its text."""
    for one in problems:
        assert one.message
        assert 0 <= one.span.start <= one.span.end <= len(one.span.source.text)


def read(data: bytes, name: str = "x.tpg") -> None:
    source, problems = decode(data, name)
    placed(problems)
    found = read_statements(source)
    placed(found.diagnostics)
    result = read_plan(source)
    placed(result.diagnostics)
    replay(result.plan)
    if not found.diagnostics and name.endswith(".tpg"):
        once = write_plan(found.text)
        again = read_statements(Source("y.tpg", once))
        assert not again.diagnostics, once
        assert write_plan(again.text) == once


def held(review: Review) -> Review:
    """What must hold of any review."""
    unread = any(finding.kind is Kind.UNREAD for finding in review.findings)
    assert not unread or review.status(Severity.DANGER) != 0
    assert (review.word() == "clean") is (not review.findings and review.status() == 0)
    text = visible(review_text(review))
    assert text.endswith("\n")
    review.asks()
    return review


def plan(data: bytes, name: str = "x.tpg") -> Review:
    source, problems = decode(data, name)
    return held(reviewer().review(source, None, None, problems))


def used(data: bytes) -> Review:
    text, problems = decode(data, "parts/x.tpg")
    source = Source("x.tpg", 'plan "Site of use"\nuse "parts/x.tpg"\n' + REST)
    return held(reviewer().review(source, lambda _: problems[0].message if problems else text))


REST = "stage ground\n  1. attach G1 to 211 N, then to 211 A by H1\n  2. do ground (211, R1, K1, G1 G2 G3 G4)\n"


def given(data: bytes) -> Review:
    pairs = (line.partition("=") for line in data.decode("utf-8", "replace").split("\n"))
    values = {name.strip(): value.strip() for name, sign, value in pairs if sign}
    return held(reviewer().review(Source("x.tpg", open_plan()), None, values))


@cache
def open_plan() -> str:
    return (EXAMPLES / "standard-procedure.tpg").read_text("utf-8")


@cache
def first() -> Review:
    return reviewer().review(Source("x.tpg", (LESSON / "parts" / "sound.tpg").read_text("utf-8")))


def revision(data: bytes) -> None:
    source, problems = decode(data, "x.tpg")
    new = reviewer().review(source, None, None, problems)
    with patch("groundlint.findings.compare.computed_margins", lambda *_: iter(())):  # the circuit takes seconds
        comparison = compare(first(), new)
    assert comparison_text(comparison, Severity.WARNING)
    if new.plan.unread:
        assert comparison.status(Severity.WARNING) != 0


# ------------------------------------------------------------------ books and settings
BOOK = b'book toy\n  title "Toy"\n  scope "toys"\n  edition "1"\n'


def book(data: bytes, rules: bytes | None = None) -> None:
    """A book file by itself, or a rule file in a book."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made, "toy")
        folder.mkdir()
        (folder / "book.book").write_bytes(data)
        if rules is not None:
            (folder / "a.rule").write_bytes(rules)
        found, problems = load_book([Path(made), shipped()], "toy", CATALOGUE, None)
        placed(problems)
        assert found is not None or problems


def settings(data: bytes) -> None:
    for name in ("groundlint.toml", "pyproject.toml"):
        found, problems = read_settings(data, Path("/nowhere") / name)
        placed(problems)
        assert found is None or not problems


# ------------------------------------------------------------------ the classroom
def text_of(data: bytes) -> str:
    return data.decode("utf-8", "replace")


@cache
def lesson() -> tuple[Scheme, Task, Key]:
    rules = rules_by_slug(reviewer().books)
    scheme, _ = read_scheme(Source("s.toml", (LESSON / "scheme.toml").read_text("utf-8")), rules)
    key, _ = read_key(Source("k.toml", (LESSON / "parts" / "drill.key.toml").read_text("utf-8")))
    assert scheme is not None
    assert key is not None
    handout = reviewer().review(Source("h.tpg", (LESSON / "lesson-1.tpg").read_text("utf-8")))
    return scheme, Task(handout, first()), key


def scheme(data: bytes) -> None:
    found, problems = read_scheme(Source("s.toml", text_of(data)), rules_by_slug(reviewer().books))
    placed(problems)
    assert (found is None) is bool(problems)


def key(data: bytes) -> None:
    found, problems = read_key(Source("k.toml", text_of(data)))
    placed(problems)
    assert (found is None) is bool(problems)
    if found is not None:
        marked = mark_faults(Answer("a", "a", Source("a.txt", "line 3: A\nline 4: a lead on it\n")), found)
        assert 0 <= marked.marks <= max(0.0, marked.out_of)


def aims(data: bytes) -> None:
    problems: list[Diagnostic] = []
    read_aims(Source("drills.toml", text_of(data)), {"rod-distance"}, problems)
    placed(problems)


def answers(data: bytes) -> None:
    marked = mark_faults(Answer("a", "a", Source("a.txt", text_of(data))), lesson()[2])
    assert 0 <= marked.marks <= marked.out_of
    assert feedback_text(marked, "x")
    assert feedback_html(marked, "x")


def answer(data: bytes) -> None:
    scheme, task, _ = lesson()
    source, problems = decode(data, "a.tpg")
    marked = mark_plan(Answer("a", "a", source, problems), scheme, task, reviewer(), rules_by_slug(reviewer().books))
    assert 0 <= marked.marks <= marked.out_of
    assert not (marked.passed and marked.note)
    assert feedback_text(marked, "x")


OWN = "rules/practice/book.book"
MORE = b"""\
  setting lead-longest 30 ft known common practice because "a long lead whips"
  retire rod-distance because "no rods"
  clause 1 "rods" decided rod-distance
"""
LANGUAGE = ("text", "language", "reading", "plan", "steps", "world", "timeline")
PLANS = files("examples/course/lesson-[1346]*/parts/sound.tpg", "examples/cable-splice.tpg")
TARGETS = {
    "plan": Target(LANGUAGE, read, plan, PLANS),
    "markdown": Target(
        LANGUAGE,
        lambda data: read(data, "x.md"),
        lambda data: plan(data, "x.md"),
        lambda: [b"# Job\n\n```tpg\n" + PLANS()[0] + b"```\n> ~~~ TPG\n> rod R1\n> ~~~\n- ```\n  bar K1\n  rod R1\n"],
    ),
    "used": Target(LANGUAGE, lambda data: read(data), used, files("examples/parts/*.tpg")),
    "given": Target(
        LANGUAGE, lambda data: None, given, lambda: [b"fault=6.8 kA\nstructure=211\nsoil=120 ohm m\nlead=2/0\n"]
    ),
    "revision": Target(("findings",), lambda data: None, revision, PLANS),
    "rule": Target(("rulebook",), lambda data: book(BOOK, data), None, files("rules/practice/[a-c]*.rule")),
    "book": Target(("rulebook",), book, None, lambda: [BOOK + MORE, *(one[:3000] for one in files(OWN)())]),
    "settings": Target(
        ("commands",),
        settings,
        None,
        lambda: [
            b'books = ["quillback"]\nbooks-in = ["rules"]\ngate = "warning"\nexclude = ["drafts/", "old/**"]\n'
            b'format = ["text", "sarif=review.sarif"]\ngiven = { fault = "6.8 kA" }\n',
            b'[tool.groundlint]\ngate = "danger"\n',
        ],
    ),
    "scheme": Target(("teaching",), scheme, None, files("examples/course/*/scheme.toml")),
    "key": Target(("teaching",), key, None, files("examples/course/*/parts/drill.key.toml")),
    "aims": Target(("teaching",), aims, None, files("rules/*/drills.toml")),
    "answers": Target(
        ("teaching",), answers, None, lambda: [b"student: Rook\nline 38: B, no tag\n- l. 4) the tag\n5\n(C) what\n"]
    ),
    "answer": Target(("teaching", "findings"), lambda data: None, answer, PLANS),
}

"""What a house sets otherwise is what its crews read: no text of a rule keeps the figure that a shipped book has."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.reading import read_plan
from groundlint.rulebook import core
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text
from groundlint.rulebook.load import available, load_book
from groundlint.rulebook.model import Later, NamedSetting, Rule, Rulebook, Template
from groundlint.rulebook.reference import rule_page
from groundlint.rulebook.shipped import shipped
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import units

NUMBERS = {
    1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine", 10: "ten",
    15: "fifteen", 20: "twenty", 30: "thirty", 60: "sixty", 100: "a hundred", 600: "six hundred"
}  # fmt: skip
AWG_1_0 = 53.5e-6
SPANS = {183.0: "half a year", 366.0: "a year"}
"""Stretches of days that have a name."""


@cache
def book(name: str) -> Rulebook:
    found, problems = load_book([shipped()], name, CATALOGUE)
    assert found is not None
    assert problems == ()
    return found


SETTINGS = [
    (name, setting.name)
    for name in available([shipped()])
    for setting in book(name).settings.values()
    if setting.book == name and any(setting.name in rested for rested in book(name).rests_on.values())
]


OF_ELSE = {("within-span-limit", "span-limit"): "two structures are to be grounded, one on each side"}
"""Figures that a text shares with a setting by chance, with what they are of."""


def another(setting: NamedSetting, more: float = 1.17) -> str:
    """A value that a house may set: somewhat more, or less; another size of wire; another choice."""
    value = setting.value
    if isinstance(value, core.Word):
        return next(choice for choice in setting.choices if choice != value.word)
    if value.dimension == "area":
        return "1/0 AWG" if (more > 1) is (value.si < AWG_1_0) else "4/0 AWG" if more > 1 else "4 AWG"
    number, _, unit = value.text.partition(" ")
    return f"{float(number) * more:.4g} {unit}".strip()


def house(folder: Path, name: str, setting: NamedSetting, more: float = 1.17) -> Rulebook:
    """A book that adopts a shipped one and sets one setting otherwise."""
    (folder / "house").mkdir(exist_ok=True)
    text = f"""\
book house
  title    "House rules"
  scope    "our lines"
  edition  "first"
  adopt    {name}
  set      {setting.name} {another(setting, more)}  because "ours"
"""
    (folder / "house" / "book.book").write_text(text, encoding="utf-8")
    found, problems = load_book([folder, shipped()], "house", CATALOGUE)
    assert [problem.message for problem in problems] == []
    assert found is not None
    return found


def figures(value: core.Quantity | core.Word) -> re.Pattern[str]:
    """A value as a text may name it: as it is written, in every spelling of every unit that makes it a plain number,
    and in words."""
    if isinstance(value, core.Word):
        return re.compile(rf"(?<![\w-]){re.escape(value.word)}(?![\w-])")
    said = [re.escape(value.text)]
    if value.dimension == "number":
        said += [NUMBERS[int(value.si)]] if value.si in NUMBERS and value.si != 1 else []
    for spelling, unit in units.UNITS.items():
        if unit.dimension != value.dimension or value.dimension == "number":
            continue
        number = value.si / unit.factor
        if 0.01 <= number <= 1e6 and abs(number - round(number, 2)) < 1e-9 * number:
            written = [f"{number:g}", f"{number:,.0f}" if number == int(number) else f"{number:g}"]
            written += [NUMBERS[int(number)]] if number in NUMBERS else []
            said += [f"{re.escape(one)}[ -]{re.escape(spelling)}" for one in written]
            if spelling == "days" and number in SPANS:
                said.append(SPANS[number])
    return re.compile(rf"(?<![\w.])(?:{'|'.join(said)})(?![\w]|\.\d| \d+ in)", re.IGNORECASE)


def texts(rule: Rule, of: Rulebook, setting: str) -> Iterator[tuple[str, str]]:
    """Every text of a rule that a person reads, the places of values left open, and its page without its name, what
    the value was before, its source and other settings."""
    yield "title", rule.title
    yield "because", rule.because
    yield "words", rule.words
    for demand in rule.demands:
        yield "say", plain(demand.say)
        yield "mend", plain(demand.mend or ())
    for repair in rule.repairs:
        yield "repair", plain(repair.text)
    page = rule_page(rule, of, CATALOGUE).partition("\n```\n")[0]
    own = f"- setting `{setting}` "
    left_out = ("# ", "  - ", "- source: ", "- setting ")
    yield "page", "\n".join(one for one in page.splitlines() if one.startswith(own) or not one.startswith(left_out))


def plain(template: Template) -> str:
    return "".join(part if isinstance(part, str) else "..." for part in template)


def named(template: Template, setting: str) -> bool:
    return any((part.of if isinstance(part, Later) else part) == core.Setting(setting) for part in template)


def traces(rule: Rule, of: Rulebook) -> Iterator[tuple[str, PlanTrace]]:
    shelf = of.shelf()
    for example in shelf.examples:
        if example.rule == rule.slug:
            text = example_text(example, rule.book, shelf)
            assert isinstance(text, ExampleText)
            plan = read_plan(Source("plan.tpg", text.text)).plan
            yield text.text, PlanTrace(replay(plan))


@pytest.mark.parametrize(("name", "setting"), SETTINGS)
def test_the_setting_in_force_is_what_the_texts_of_a_rule_name(name: str, setting: str, tmp_path: Path) -> None:
    old, ours = book(name), house(tmp_path, name, book(name).settings[setting])
    was, now = old.settings[setting], ours.settings[setting]
    assert was.said != now.said
    before = figures(was.value)
    resting = [rule for rule in ours.rules if setting in ours.rests_on[rule.slug]]
    assert resting
    shows = [
        f"{rule.slug}: {where}: {text}"
        for rule in resting
        for where, text in texts(rule, ours, setting)
        if (rule.slug, setting) not in OF_ELSE and before.search(text)
    ]
    assert shows == []
    for rule in resting:
        assert f"- setting `{setting}` is {now.said}\n" in rule_page(rule, ours, CATALOGUE)
        if named(rule.heading, setting):
            assert now.said in rule.title


@pytest.mark.parametrize(("name", "setting"), SETTINGS)
def test_what_a_finding_says_is_the_setting_in_force(name: str, setting: str, tmp_path: Path) -> None:
    """Of each rule whose messages name the setting, the examples that are found by the shipped book and by one that
    asks for more or for less."""
    old = book(name)
    before = figures(old.settings[setting].value)
    seen = {rule.slug: 0 for rule in old.rules if any(named(text, setting) for text in said(rule))}
    for more in (1.17, 0.83):
        ours = house(tmp_path, name, old.settings[setting], more)
        now = ours.settings[setting].said
        one, other = Program(old, CATALOGUE), Program(ours, CATALOGUE)
        for slug in seen:
            rule = ours.rule(slug)
            assert rule is not None
            for text, trace in traces(rule, ours):
                found = [program.review_rule(slug, trace).verdicts for program in (one, other)]
                messages = [{v.at: f"{v.message} {v.mend}" for v in verdicts} for verdicts in found]
                for at, message in messages[0].items():
                    if before.search(message) and at in messages[1]:
                        assert now in messages[1][at]
                        assert before.search(text) or not before.search(messages[1][at])
                        seen[slug] += 1
    assert [slug for slug, times in seen.items() if not times] == []


def said(rule: Rule) -> Iterator[Template]:
    for demand in rule.demands:
        yield demand.say
        yield demand.mend or ()


def test_a_setting_of_area_takes_a_wire_size_and_an_area(tmp_path: Path) -> None:
    setting = book("us-29cfr1910-269").settings["lead-minimum"]
    (tmp_path / "house").mkdir()
    for value, area in (("1/0 AWG", 53.4e-6), ("2/0 AWG", 67.4e-6), ("250 kcmil", 126.7e-6), ("70 mm2", 70e-6)):
        text = f"""\
book house
  title    "House rules"
  scope    "our lines"
  edition  "first"
  adopt    {setting.book}
  set      lead-minimum {value}  because "ours"
"""
        (tmp_path / "house" / "book.book").write_text(text, encoding="utf-8")
        found, problems = load_book([tmp_path, shipped()], "house", CATALOGUE)
        assert problems == ()
        assert found is not None
        ours = found.settings["lead-minimum"].value
        assert isinstance(ours, core.Quantity)
        assert ours.si == pytest.approx(area, rel=5e-3)
        assert found.settings["lead-minimum"].said == value


def test_a_limit_for_work_by_hand_is_that_of_every_rule_that_hangs_on_it(tmp_path: Path) -> None:
    """A house sets it once, in a book that adopts both; who goes up alone is asked by the regulation's own figure."""
    (tmp_path / "house").mkdir()
    text = """\
book house
  title    "House rules"
  scope    "our lines"
  edition  "first"
  adopt    practice
  adopt    us-29cfr1910-269
  set      by-hand-limit 1000 V  because "ours"
"""
    (tmp_path / "house" / "book.book").write_text(text, encoding="utf-8")
    ours, problems = load_book([tmp_path, shipped()], "house", CATALOGUE)
    assert problems == ()
    assert ours is not None
    resting = {slug for slug, settings in ours.rests_on.items() if "by-hand-limit" in settings}
    assert resting == {
        "capacitor-by-stick", "electrode-off-last", "gloves-where-no-stick", "ground-end-by-stick",
        "line-end-by-stick", "off-by-stick", "test-by-stick",
    }  # fmt: skip
    alone = ours.rule("two-at-the-work")
    assert alone is not None
    assert alone.title == "Above 600 V nobody goes up alone"

"""What is written of an exercise: the handout as text and HTML, the blank answer sheet, and the key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from groundlint.plan.models import Line, Plan, SupplySource, Switch
from groundlint.rulebook.model import Rule
from groundlint.teaching.drill import Exercise, Fault
from groundlint.teaching.pages import page, wrapped
from groundlint.teaching.subjects import LEVELS
from groundlint.text.toml import toml_list, toml_text

COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


ENDINGS = (".tpg", ".html", ".txt", ".answers.txt", ".key.toml")
"""How the files of an exercise end after its name: plan, handout as page and as text, answer sheet, key."""


class Paper(NamedTuple):
    """One file of an exercise: its name and text."""

    name: str
    text: str


def papers(made: Exercise, rules: Mapping[str, Rule], books: Sequence[str]) -> tuple[Paper, ...]:
    """Every file of an exercise, by `ENDINGS`."""
    texts = made.plan.text, handout_html(made), handout_text(made), answer_sheet(made), key_text(made, rules, books)
    return tuple(Paper(f"{made.name}{ending}", text) for ending, text in zip(ENDINGS, texts, strict=True))


# ------------------------------------------------------------------ the handout
def _title(made: Exercise) -> str:
    return f"Exercise {made.name}: {made.review.plan.title or 'a grounding plan'}"


def _task(made: Exercise) -> str:
    number = len(made.faults)
    if made.level >= 3:
        return "Faults have been put into a plan that was sound. Find them; how many there are is not stated."
    count = COUNTS[number] if number < len(COUNTS) else str(number)
    were, it = ("fault has", "it") if number == 1 else ("faults have", "them")
    return f"{count.capitalize()} {were} been put into a plan that was sound. Find {it}."


def _questions(made: Exercise) -> tuple[str, ...]:
    return (
        "Which lines are wrong, or where is a line missing? Where one is missing, give the line above or "
        "below the gap.",
        "For each, which reason of the list is it? The list says what a sound plan does; the reason is what this one "
        f"does not do. Give its letter, {made.choices[0].letter} to {made.choices[-1].letter}; each is right once at "
        "most. Words of your own are read too.",
        "What should stand there instead? Write it after the letter; whoever marks the class reads it.",
    )


def answer_sheet(made: Exercise) -> str:
    """A blank answer sheet, with how to fill it in comments."""
    number = len(made.faults) if made.level < 3 else 3
    lines = [
        f"# Answers to exercise {made.name}",
        "# One fault a line, in as many lines as you need: the number of the line, a colon, the",
        "# letter of the reason, and after a comma anything that you want to add. Lines that begin",
        "# with # are not read.",
        "# For example:  line 21: B, the ground end goes on first",
        "student: ",
        *(["line : "] * number),
    ]
    return "\n".join(lines) + "\n"


def site_rows(plan: Plan) -> tuple[tuple[str, str], ...]:
    """What a plan says of its site, for a table; ``not stated`` where it says nothing."""
    rows: list[tuple[str, str]] = []
    line: Line | None = plan.line
    rows.append(("line", line.name if line else "not stated"))
    rows.append(("voltage", f"{line.voltage / 1000:g} kV" if line and line.voltage else "not stated"))
    rows.append(("conductors", " ".join(one.name for one in line.conductors) if line else "not stated"))
    rows.append(("route", " ".join(one.name for one in plan.route) or "not stated"))
    for source in plan.of(SupplySource):
        assert isinstance(source, SupplySource)
        stated = (source.three_phase, "three-phase"), (source.to_ground, "to ground")
        fault = next((f"{amps / 1000:g} kA {kind}" for amps, kind in stated if amps), "fault current not stated")
        place = f" at {source.at}" if source.at is not None else ""
        rows.append((f"source {source.name}", f"{source.sort}{place}, {fault}"))
    for switch in plan.of(Switch):
        assert isinstance(switch, Switch)
        sides = " and ".join(side.name for side in switch.sides)
        rows.append((f"{switch.sort} {switch.name}", f"between {sides}" if sides else "its place is not stated"))
    rows.append(("soil", f"{plan.soil[0]:g} ohm m" if plan.soil else "not stated"))
    rows.append(("method", plan.method or "not stated"))
    return tuple(rows)


def numbered(text: str) -> list[str]:
    """The lines of a text, each with its number before it."""
    lines = text.rstrip("\n").split("\n")
    width = len(str(len(lines)))
    return [f"{at:>{width}} | {line}".rstrip() for at, line in enumerate(lines, 1)]


def handout_html(made: Exercise) -> str:
    """The handout as a page."""
    return page(
        "handout.html",
        title=_title(made),
        task=_task(made),
        site=site_rows(made.review.plan),
        numbered=numbered(made.plan.text),
        questions=_questions(made),
        choices=made.choices,
        sheet=answer_sheet(made).splitlines(),
    )


def handout_text(made: Exercise) -> str:
    """The handout as plain text."""
    title = _title(made)
    out = [title, "=" * len(title), "", *wrapped(_task(made)), "", "The site", "--------"]
    rows = site_rows(made.review.plan)
    width = max(len(name) for name, _ in rows)
    out += [f"{name:<{width}}  {value}" for name, value in rows]
    out += ["", "The plan", "--------", *numbered(made.plan.text), "", "Questions", "---------"]
    for at, question in enumerate(_questions(made), 1):
        out += wrapped(question, f"{at}. ")
    out += ["", "Reasons to choose from", "----------------------"]
    for choice in made.choices:
        out += wrapped(choice.title, f"{choice.letter}  ")
    out += ["", "How to answer", "-------------", answer_sheet(made).rstrip("\n")]
    return "\n".join(out) + "\n"


# ------------------------------------------------------------------ the key
def key_text(made: Exercise, rules: Mapping[str, Rule], books: Sequence[str]) -> str:
    """The key as TOML, which `groundlint mark` reads: what is wrong, where, why, and what the sound plan says."""
    import hashlib

    digest = hashlib.sha256(made.plan.text.encode()).hexdigest()
    out = [
        f"# Key to exercise {made.name}. `groundlint mark {made.name}.key.toml ANSWER...` marks answers against it.",
        "[drill]",
        f"name = {toml_text(made.name)}",
        f"title = {toml_text(made.review.plan.title or '')}",
        f"seed = {made.seed}",
        f"level = {made.level}  # {LEVELS[made.level]}",
        f"books = {toml_list(books)}",
        f"plan = {toml_text(made.plan.name)}",
        f"plan_sha256 = {toml_text(digest)}",
        "",
        "[marks]",
        "line = 2  # for a line that points a fault out",
        "reason = 2  # for its reason as well",
        "false_alarm = 0.5  # taken off for each answer that points out nothing, or what is not wrong there",
        "",
        "[choices]",
        *(f"{toml_text(one.letter)} = [{toml_text(one.slug)}, {toml_text(one.title)}]" for one in made.choices),
    ]
    for fault in made.faults:
        out += ["", *_fault(fault, rules)]
    return "\n".join(out) + "\n"


def _fault(fault: Fault, rules: Mapping[str, Rule]) -> Iterator[str]:
    yield "[[fault]]"
    yield f"operator = {toml_text(fault.operator.name)}"
    yield f"title = {toml_text(fault.operator.title)}"
    yield f"about = {toml_text(fault.operator.group)}"
    yield f"level = {fault.operator.level}"
    yield f"lines = [{', '.join(map(str, fault.lines))}]"
    yield f"rules = {toml_list(fault.aim.rules)}"
    also = dict.fromkeys(one.slug for one in fault.found if one.slug not in fault.aim.rules)
    yield f"also = [{', '.join(toml_list((slug, rules[slug].title)) for slug in also)}]"
    places = sorted({(span.line, one.slug) for one in fault.found for span in (one.span, one.use) if span is not None})
    yield f"shows = [{', '.join(f'[{line}, {toml_text(slug)}]' for line, slug in places)}]"
    found = [rules[slug] for slug in fault.aim.rules if slug in rules]
    yield f"why = {toml_text(' '.join(rule.because for rule in found))}"
    yield f"written = {toml_list(cite for rule in found for cite in rule.cites)}"
    yield f"found = {toml_list(dict.fromkeys(f'line {one.span.line}: {one.message}' for one in fault.found))}"
    shown = []
    for change in fault.changes:
        place = f"line {change.line}: " if change.line else ""
        if change.sort == "changed":
            shown.append(f"{place}`{change.after}` was `{change.before}`")
        elif change.sort == "left out":
            shown.append(f"left out: `{change.before}`")
        else:
            shown.append(f"{place}`{change.after}` was {'moved here' if change.sort == 'moved' else 'put in'}")
    yield f"seeded = {toml_list(shown)}"


__all__ = [
    "ENDINGS",
    "Paper",
    "answer_sheet",
    "handout_html",
    "handout_text",
    "key_text",
    "numbered",
    "papers",
    "site_rows",
]

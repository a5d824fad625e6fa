"""The reference of the rule language, made from the grammar's own tables and from expansions that are really made.

Names in the table of templates are those of declarative process models: van der Aalst, Pesic and Schonenberg,
"Declarative workflows: balancing between flexibility and support", 2009 (DECLARE; from memory).
"""

from __future__ import annotations

from typing import NamedTuple

from groundlint.facts.catalogue import TRUTH, Catalogue, Fact, StepKind
from groundlint.rulebook import core
from groundlint.rulebook.core import Formula
from groundlint.rulebook.model import Rule, Rulebook
from groundlint.rulebook.render import render


class Template(NamedTuple):
    """A shape of the surface language, its name in the literature, and its core."""

    surface: str
    known_as: str
    meaning: str
    expansion: Formula


def _letter(name: str) -> Formula:
    """A stand-in for any condition: it prints as a named condition without things, ``a()``."""
    return core.Call(name, ())


A, B, C = _letter("a"), _letter("b"), _letter("c")
TEMPLATES: tuple[Template, ...] = (
    Template("earlier a()", "precedence", "at a position before this one", core.earlier(A)),
    Template("never a()", "absence", "at no position up to now", core.never(A)),
    Template("at least 1 times a()", "existence", "once or more up to now", core.at_least(1, A)),
    Template("at least 2 times a()", "existence 2", "twice or more up to now", core.at_least(2, A)),
    Template("at most 1 times a()", "absence 2", "no more than once up to now", core.at_most(1, A)),
    Template("exactly 1 times a()", "exactly 1", "once up to now, and no more", core.exactly(1, A)),
    Template("(not b()) since a()", "alternate precedence", "a, and no b after it", core.Since(core.Not(B), A)),
    Template("a() followed by b()", "response", "each a has a b later; asked at the end", core.followed(A, B)),
    Template(
        "a() followed by b() before c()",
        "response within a stretch",
        "each a has a b later and before the next c; asked at the end",
        core.followed_before(A, B, C),
    ),
    Template(
        "(a() followed by b()) and finally always (b() implies earlier a())",
        "succession",
        "each a has a b later, and each b an a before it",
        core.And((core.followed(A, B), core.Finally(core.Always(core.Implies(B, core.earlier(A)))))),
    ),
)

_CORE = (
    ("not A", "turns the order false < unknown < true round"),
    ("A and B, A or B, A implies B", "the lesser of the two; the greater; the greater of `not A` and B"),
    ("previously A", "A before the last step; false at the first position"),
    ("once A, once A within N steps", "A now or at a position before; no more than N before"),
    ("always A", "A now and at every position before"),
    ("A since B", "B now or before, and A at every position after it up to now"),
    ("after A", "A in the world that this step leaves; A may not look at steps or at the past"),
    ("finally A", "A at the end of the plan, with the names bound now"),
    ("each x KIND where A: B", "B for every thing of the kind that satisfies A; `no` is `each` with B turned round"),
    ("some x KIND where A: B", "B for one at least"),
    ("count of x KIND where A", "how many satisfy A, a bare number; unknown while any of them is unknown"),
    ("X is known", "true where X has a value, unknown where it has none: it can never make silence count as safe"),
    ("did STEP THING to THING", "the step at this position is of the kind and names these things; false at the end"),
    ("NAME(x, y)", "a named condition: `condition NAME (x KIND, y KIND) means A`"),
)


_CLAUSES = (
    ("level", "`danger`, `warning`, `caution` or `notice`"),
    ("title", "what the rule demands, in a few words, in double quotes, with `{rod-stand-off}` for a setting"),
    ("cites", "its source, to the end of the line; may stand several times"),
    ("known", "`published`, `common practice` or `from memory`"),
    ("because", "what goes wrong if it is broken, in double quotes"),
    (
        "at",
        "something that happens and its places, `at goes-on lead to point`; or a kind of step, `at brief person`; or "
        "`at every step`; a place takes its own name, or another name and a kind that narrows it, `to p conductor`",
    ),
    (
        "while",
        "a condition on the world: asked before the first step, after each and at the end, for as long as it is so; "
        "the finding falls on the step that made it needed or ended it, and the steps after it for the same cause are "
        "one finding with it; of steps it may ask `earlier did ...` alone, and never `after`",
    ),
    (
        "for",
        "one or two things, `for x lead, w worker where A`; asked at the end, or with `at` and `while` for each pair",
    ),
    ("once", "asked once, at the end of the plan"),
    ("where", "a condition on which the rule applies; may stand several times"),
    ("unless", "a condition on which it does not"),
    ("require", "what must hold; may stand several times"),
    (
        "say",
        "the message if what is required above it fails, with `{lead}`, `{length of lead}`, `{rod-stand-off}`, and "
        "`{after exposure of worker to source}` for a value after the step, and `{names of person where person is "
        "in-place}` for the names of all that are surely so",
    ),
    ("mend", "what to do about it, in double quotes; of all that `say` says above it, up to the `mend` before"),
    (
        "repair",
        'what to write for it: `before "clean {point}"` or `after "..."`, a line beside the step that is reported, or '
        '`after last comes-off "..."`, beside another; `add "by H1" for "by hand"`, words at the end of the step or '
        "for those that it has; `swap ends`; `bring first STEP` or `defer last STEP`, that step moved up to before "
        "this one, or this one down to after that; `number steps`. The other step comes after the one reported. "
        "Several are one edit; `or` begins another, for where those above mend nothing. `'` stands for a double quote. "
        "`swap` and `defer` are offered where the rule is broken, the others where it applies and is not shown too; "
        "and only where the plan with it, reviewed again, has the finding no more and no new one",
    ),
    ("mark", "`first` or `last` and a step, as in `mark last attach lead`: the line to report at"),
    (
        "words",
        '`words because "..."`: why a rule asks at a kind of step, although happenings say what such steps do and '
        "the same done in other words escapes it",
    ),
    ("stable", "`no` if the demand may still change"),
    ("passes", "an example on which the rule applies and is met"),
    (
        "nearmiss",
        "one that passes, and differs in a single respect from one that does not: one line more, less, moved "
        "or replaced",
    ),
    ("fails", "an example on which it is broken"),
    ("reworded", "an example that is broken too, and says in other words what one that fails says"),
    ("unshown", "an example that does not say enough"),
    ("exempts", "an example to which the rule does not apply"),
    (
        "lacks",
        '`lacks fails because "..."`: why there can be none of that kind; a stable rule has an example of each of '
        "`passes`, `nearmiss`, `fails` and `unshown`, or says so",
    ),
)
_BOOK_CLAUSES = (
    ("title, scope, edition", "in double quotes"),
    (
        "setting",
        '`setting rod-stand-off 15 ft known common practice because "..."`; '
        "a word wants its choices, `setting way a one of a b known ...`; an area may be a wire size, `2/0 AWG`; "
        "`waiver-longest 366 days` is how long a waiver may stand from the plan's date",
    ),
    ("adopt", "another book: its rules, settings and conditions"),
    ("take", "`take SLUG, SLUG from BOOK`: single rules of another book, with the settings and conditions they need"),
    ("set", '`set rod-stand-off 20 ft because "..."`, for a setting of an adopted book'),
    ("raise, lower", '`raise SLUG to danger because "..."`'),
    ("retire", '`retire SLUG because "..."`, for a rule of an adopted book'),
    (
        "may-waive",
        '`may-waive SLUG because "..."`: a revision that begins to waive this rule is no worse for that alone',
    ),
    ("may-not-waive", '`may-not-waive SLUG because "..."`: a waiver of this rule is a finding and waives nothing'),
    (
        "clause",
        '`clause "29 CFR 1910.269(n)(5)" known published asks "..."`, then one or more of `rules SLUG, SLUG`, '
        "`beside BOOK SLUG` (rules of a book that is asked too), `messages CODE` (said by reading a plan) and "
        '`undecidable because "..."`; '
        "the book's own rules cite the clause, others get it among what they cite",
    ),
    ("undecidable", '`undecidable "CLAUSE" because "..."`: what a written plan cannot show'),
)


def clause_meaning(word: str, in_book: bool) -> str:
    """What a clause of a rule, or of a book's own block, holds; empty for what is no clause."""
    table = _BOOK_CLAUSES if in_book else _CLAUSES
    return next((holds for words, holds in table if word in words.split(", ")), "")


def word_meanings(word: str, catalogue: Catalogue) -> list[str]:
    """What a word of rules stands for: a kind of thing, a step or happening, the facts of that name; in Markdown."""
    found = [f"kind `{word}`: {catalogue.kinds[word].meaning}"] if word in catalogue.kinds else []
    if word in catalogue.steps:
        step = catalogue.steps[word]
        found.append(f"{'happening' if step.happening else 'step'} `{_places(step)}`: {step.meaning}")
    return found + [f"fact `{fact.reads()}`, {_gives(fact)}: {fact.meaning}" for fact in catalogue.named(word)]


def language_page(catalogue: Catalogue) -> str:
    """The language's page in Markdown: core, sugar with its expansions, and the vocabulary."""
    rows = ["# The rule language", "", "## A rule, clause by clause", "", "| clause | holds |", "| --- | --- |"]
    rows += [f"| `{word}` | {holds} |" for word, holds in _CLAUSES]
    rows += [
        "",
        "Example lines begin with `|`, with `>` where the finding must fall, or with `-` for a line taken out of the",
        "base plan `bases/base.tpg` (`passes on NAME` takes another). They are put after the lines of the base.",
        "",
        "## A book, clause by clause",
        "",
        "| clause | holds |",
        "| --- | --- |",
    ]
    rows += [f"| `{word}` | {holds} |" for word, holds in _BOOK_CLAUSES]
    rows += ["", "## The core", "", "| written | means |", "| --- | --- |"]
    rows += [f"| `{written}` | {meaning} |" for written, meaning in _CORE]
    rows += [
        "",
        "A set that the plan does not state complete has one unknown member more: `each` over it is never true, `some`",
        "never false, a `count` never known. Two quantities are equal if they differ by less than a part in 10^9.",
        "`and` and `or` beside `since` or `followed by` want parentheses.",
        "",
        "## Shapes that expand to it",
        "",
        "| written | known as | means | expands to |",
        "| --- | --- | --- | --- |",
    ]
    rows += [
        f"| `{entry.surface}` | {entry.known_as} | {entry.meaning} | `{render(entry.expansion, catalogue)}` |"
        for entry in TEMPLATES
    ]
    return "\n".join([*rows, "", *vocabulary(catalogue)]) + "\n"


def vocabulary(catalogue: Catalogue) -> list[str]:
    """Kinds, steps and facts of a catalogue as Markdown lines."""
    rows = ["## Kinds of thing", "", "| kind | also a | meaning |", "| --- | --- | --- |"]
    rows += [
        f"| `{kind.name}` | {', '.join(f'`{parent}`' for parent in kind.parents)} | {kind.meaning} |"
        for kind in catalogue.kinds.values()
    ]
    rows += [
        "",
        "## Happenings",
        "",
        "What a step did, whatever it was called. One step may make several of them, or none.",
        "",
        "| happening | meaning |",
        "| --- | --- |",
        *(f"| `{_places(step)}` | {step.meaning} |" for step in catalogue.steps.values() if step.happening),
        "",
        "## Steps",
        "",
        "A rule that hangs on a kind of step with happenings gives its reason in a clause `words`.",
        "",
        "| step | meaning | happenings |",
        "| --- | --- | --- |",
    ]
    for step in catalogue.steps.values():
        if not step.happening:
            rows.append(f"| `{_places(step)}` | {step.meaning} | {', '.join(f'`{one}`' for one in step.happens)} |")
    rows += ["", "## Facts", "", "| fact | gives | meaning |", "| --- | --- | --- |"]
    rows += [f"| `{fact.reads()}` | {_gives(fact)} | {fact.meaning} |" for fact in catalogue.facts.values()]
    return rows


def _places(step: StepKind) -> str:
    """A kind of step or happening with its places, as a rule writes it."""
    places = [slot.name if slot.preposition is None else f"{slot.preposition} {slot.name}" for slot in step.slots]
    return " ".join((step.name, *places))


def _gives(fact: Fact) -> str:
    when = "" if fact.timed else ", the same at every step"
    if not isinstance(fact.returns, str):
        return "one of " + ", ".join(f"`{word}`" for word in sorted(fact.returns)) + when
    if fact.returns == TRUTH:
        return "true or false" + when
    return fact.returns + when


def expansion(rule: Rule, catalogue: Catalogue) -> str:
    """A rule's conditions in the core, as rule language that reads back to the same."""
    rows = [] if rule.trigger is None else [f"where    {render(rule.trigger, catalogue)}"]
    rows += [f"require  {render(demand.condition, catalogue)}" for demand in rule.demands]
    return "\n".join(rows)


def rule_page(rule: Rule, book: Rulebook, catalogue: Catalogue) -> str:
    """One rule's page in Markdown: what, why, source, what changed it, its text, its core."""
    rows = [f"# {rule.slug}", "", f"**{rule.level.word}**: {rule.title}.", "", rule.because, ""]
    rows += [f"- source: {cite} ({rule.known})" for cite in rule.cites]
    rows.append(f"- book: {rule.book}" + ("" if rule.stable else "; its demand may still change"))
    rows += [f"- {change.what} by {change.book}: {change.because}" for change in rule.changes]
    for change in (kept[rule.slug] for kept in (book.waivable, book.unwaivable) if rule.slug in kept):
        rows.append(f"- {change.what}, by {change.book}: {change.because}")
    rows += [f"- no example `{sort}`: {because}" for sort, because in rule.lacks]
    if rule.words:
        rows.append(f"- asks at a kind of step because: {rule.words}")
    for name in book.rests_on[rule.slug]:
        setting = book.settings[name]
        reason = f"({setting.known}): {setting.because}"
        if setting.changes:
            rows.append(f"- setting `{name}` is {setting.said}")
            rows += [f"  - {change.what} by {change.book}: {change.because}" for change in setting.changes]
            rows.append(f"  - as {setting.book} has it {reason}")
        else:
            rows.append(f"- setting `{name}` is {setting.said} {reason}")
    rows += [
        "",
        "```",
        book.shelf().rule_texts[rule.slug],
        "```",
        "",
        "In the core:",
        "",
        "```",
        expansion(rule, catalogue),
        "```",
    ]
    return "\n".join(rows) + "\n"

"""A book read from its files and merged with the books it adopts; contradictions are diagnostics at their line."""

from __future__ import annotations

import pickle
import re
from dataclasses import dataclass, field

from lark import Token

from groundlint.facts.catalogue import Catalogue, Kind
from groundlint.rulebook.check import Checker, Scope, Signature, state_only
from groundlint.rulebook.clauses import Entry, cited, entry_problems, read_entry
from groundlint.rulebook.core import Condition, Quantity, Word, needs
from groundlint.rulebook.grammar import MistakeError, parse
from groundlint.rulebook.layout import Block, Clause, Layout, lay_out, mistake
from groundlint.rulebook.model import Change, Example, Head, Listed, NamedSetting, Rule, Rulebook, Shelf
from groundlint.rulebook.quantities import read_quantity
from groundlint.rulebook.rules import LEVELS, SOURCES, RuleReader, slug_problem, string
from groundlint.text import Diagnostic, Source, Span

BLOCKS = ("rule", "condition", "book")
BOOK_CLAUSES = (
    "title", "scope", "edition", "setting", "adopt", "take", "set", "raise", "lower", "retire",
    "may-waive", "may-not-waive", "undecidable", "clause",
)  # fmt: skip
MOST_PARAMETERS = 3


@dataclass(frozen=True, slots=True)
class BookText:
    """The texts of one book: the book file and rule files by path, and base plans by name."""

    name: str
    files: tuple[Source, ...]
    bases: dict[str, str]


@dataclass(slots=True)
class Book:
    """A book while it is put together; what it adopts is in it already."""

    name: str
    head: Head
    rules: dict[str, Rule] = field(default_factory=dict)
    conditions: dict[str, Condition] = field(default_factory=dict)
    signatures: dict[str, Signature] = field(default_factory=dict)
    rule_texts: dict[str, str] = field(default_factory=dict)
    condition_texts: dict[str, str] = field(default_factory=dict)
    settings: dict[str, NamedSetting] = field(default_factory=dict)
    retired: dict[str, Change] = field(default_factory=dict)
    undecidable: list[tuple[str, str, str]] = field(default_factory=list)
    clauses: list[Listed] = field(default_factory=list)
    unwaivable: dict[str, Change] = field(default_factory=dict)
    waivable: dict[str, Change] = field(default_factory=dict)
    examples: list[Example] = field(default_factory=list)
    bases: dict[tuple[str, str], str] = field(default_factory=dict)

    def finished(self) -> Rulebook:
        """The book as reviews use it."""
        kept = [example for example in self.examples if example.rule in self.rules]
        shelf = Shelf(tuple(kept), self.bases, self.rule_texts, self.condition_texts)
        return Rulebook(
            self.head,
            tuple(self.rules[slug].titled(self.settings) for slug in sorted(self.rules)),
            self.conditions,
            self.settings,
            self.retired,
            tuple(self.undecidable),
            {slug: needs(rule.nodes(), self.conditions)[0] for slug, rule in self.rules.items()},
            pickle.dumps(shelf, protocol=pickle.HIGHEST_PROTOCOL),
            tuple(self.clauses),
            {slug: change for slug, change in self.unwaivable.items() if slug in self.rules},
            {slug: change for slug, change in self.waivable.items() if slug in self.rules},
        )


def build(text: BookText, adopted: dict[str, Book], catalogue: Catalogue) -> tuple[Book, list[Diagnostic]]:
    """Check a book's texts and merge what it adopts; ``adopted`` holds those books, put together before it."""
    builder = _Builder(text, adopted, catalogue)
    builder.run()
    return builder.book, builder.problems


class _Builder:
    def __init__(self, text: BookText, adopted: dict[str, Book], catalogue: Catalogue) -> None:
        self.text = text
        self.adopted = adopted
        self.catalogue = catalogue
        self.problems: list[Diagnostic] = []
        self.book = Book(text.name, Head(text.name, "", "", "", ()))
        self.book.bases = {(text.name, name): plan for name, plan in text.bases.items()}
        for other in adopted.values():  # its base plans serve the examples here too, unless one here has the same name
            for (owner, name), plan in other.bases.items():
                if owner == other.name:
                    self.book.bases.setdefault((text.name, name), plan)
        self.layouts = [lay_out(source) for source in text.files]
        self.pending: dict[str, tuple[Layout, Block]] = {}  # conditions not checked yet, by name
        self.checking: list[str] = []
        self.taken: set[str] = set()
        self.clashes: dict[str, str] = {}  # settings that adopted books set differently, until `set` decides
        self.checker = Checker(catalogue, self.book.settings, self.signature, self.condition_names)

    def say(self, code: str, span: Span, message: str) -> None:
        self.problems.append(mistake(code, span, message))

    def run(self) -> None:
        blocks: dict[str, list[tuple[Layout, Block]]] = {word: [] for word in BLOCKS}
        for layout in self.layouts:
            self.problems.extend(layout.problems)
            for block in layout.blocks:
                if block.word in blocks:
                    blocks[block.word].append((layout, block))
                else:
                    close = self.catalogue.nearest(block.word, BLOCKS)
                    hint = f"; did you mean `{close}`?" if close else ""
                    self.say(
                        "unknown-block", block.word_span, f"`{block.word}` is no `rule`, `condition` or `book`{hint}"
                    )
        if blocks["book"]:
            self.head(*blocks["book"][0])
            for _, block in blocks["book"][1:]:
                self.say(
                    "book-twice", block.word_span, "a book has one `book` block, and another stands before this one"
                )
        elif self.layouts:
            start = self.layouts[0].source.span(0, 0)
            self.say("book-missing", start, f"no `book {self.text.name}` stands in the files of this book")
        self.conditions(blocks["condition"])
        self.rules(blocks["rule"])
        if blocks["book"]:
            self.listed(*blocks["book"][0])
            self.changes(*blocks["book"][0])

    # ---- the book's own block ----

    def head(self, layout: Layout, block: Block) -> None:
        name = _flat(layout, block.head)
        if name != self.text.name:
            self.say(
                "book-name", block.head, f"the book in folder `{self.text.name}` is named `{name}`; they must agree"
            )
        said = {"title": "", "scope": "", "edition": ""}
        adopts: list[str] = []
        for clause in block.clauses:
            if clause.word not in BOOK_CLAUSES:
                close = self.catalogue.nearest(clause.word, BOOK_CLAUSES)
                hint = f"; did you mean `{close}`?" if close else f"; clauses are {', '.join(BOOK_CLAUSES)}"
                self.say("unknown-clause", clause.word_span, f"a book has no clause `{clause.word}`{hint}")
            try:
                if clause.word in said:
                    said[clause.word] = string(layout, clause.body)
                elif clause.word == "adopt":
                    adopts.append(_flat(layout, clause.body))
                    self.adopt(clause, adopts[-1])
                elif clause.word == "take":
                    self.take(layout, clause)
                elif clause.word == "undecidable":
                    what, because = self.because(layout, clause)
                    self.book.undecidable.append((self.text.name, string(layout, what), because))
            except MistakeError as error:
                self.problems.append(error.diagnostic)
        self.book.head = Head(self.text.name, said["title"], said["scope"], said["edition"], tuple(adopts))
        for word in ("title", "scope", "edition"):
            if not any(clause.word == word for clause in block.clauses):
                self.say("clause-missing", block.word_span, f"this book has no `{word}`")
        for word, read in (("setting", self.setting), ("set", self.set)):
            for clause in block.clauses:
                if clause.word == word:
                    try:
                        read(layout, clause)
                    except MistakeError as error:
                        self.problems.append(error.diagnostic)
        for name, others in self.clashes.items():
            self.say(
                "setting-clash",
                block.word_span,
                f"{others} set `{name}` differently; say which holds with `set {name} ... because ...`",
            )

    def adopt(self, clause: Clause, name: str) -> None:
        other = self.adopted.get(name)
        if other is None:
            return  # the loader has said that there is no such book, or that adoption goes in a circle
        mine = self.book
        for slug, rule in other.rules.items():
            self.bring(clause, slug, rule)
        for name_ in other.settings:
            self.bring_setting(other, name_)
        for name_ in other.conditions:
            self.bring_condition(clause, other, name_)
        for slug, change in other.retired.items():
            mine.retired.setdefault(slug, change)
        mine.retired = {slug: change for slug, change in mine.retired.items() if slug not in mine.rules}
        mine.undecidable.extend(entry for entry in other.undecidable if entry not in mine.undecidable)
        mine.clauses.extend(listed for listed in other.clauses if listed not in mine.clauses)
        for slug, change in other.unwaivable.items():
            mine.unwaivable.setdefault(slug, change)
        for slug, change in other.waivable.items():
            mine.waivable.setdefault(slug, change)
        mine.examples.extend(entry for entry in other.examples if entry not in mine.examples)
        mine.bases.update(other.bases)
        mine.rule_texts.update(other.rule_texts)

    def take(self, layout: Layout, clause: Clause) -> None:
        """Single rules of another book, with the settings and conditions that they need."""
        match = re.fullmatch(
            r"(?P<slugs>[a-z0-9-]+(?:(?:\s*,\s*|\s+)[a-z0-9-]+)*)\s+from\s+(?P<book>\S+)", _flat(layout, clause.body)
        )
        if match is None:
            raise MistakeError(mistake("bad-take", clause.body, "`take` reads `take SLUG, SLUG from BOOK`"))
        other = self.adopted.get(match["book"])
        if other is None:
            return  # said by the loader
        mine = self.book
        for slug in re.split(r"[\s,]+", match["slugs"]):
            rule = other.rules.get(slug)
            if rule is None:
                close = self.catalogue.nearest(slug, other.rules)
                hint = f"; did you mean `{close}`?" if close else ""
                self.say("unknown-rule", clause.body, f"`{other.name}` has no rule `{slug}`{hint}")
                continue
            self.bring(clause, slug, rule)
            self.taken.add(slug)
            settings, conditions = needs(rule.nodes(), other.conditions)
            for name in settings:
                self.bring_setting(other, name)
            for name in conditions:
                self.bring_condition(clause, other, name)
            mine.rule_texts[slug] = other.rule_texts[slug]
            mine.examples.extend(e for e in other.examples if e.rule == slug and e not in mine.examples)
            mine.bases.update({key: plan for key, plan in other.bases.items() if key[0] == rule.book})

    def bring(self, clause: Clause, slug: str, rule: Rule) -> None:
        """A rule of another book comes in; adopted by two ways, the graver level holds and it cites for both."""
        old = self.book.rules.get(slug)
        if old is not None and old.book != rule.book:
            self.say("rule-twice", clause.body, f"rule `{slug}` stands in `{old.book}` and in `{rule.book}`")
        elif old is not None:
            graver = rule if rule.level > old.level else old
            self.book.rules[slug] = graver._replace(cites=tuple(dict.fromkeys((*old.cites, *rule.cites))))
        else:
            self.book.rules[slug] = rule

    def bring_setting(self, other: Book, name: str) -> None:
        setting, known = other.settings[name], self.book.settings.get(name)
        if known is not None and (known.value, known.choices) != (setting.value, setting.choices):
            self.clashes[name] = f"`{known.changes[-1].book if known.changes else known.book}` and `{other.name}`"
        self.book.settings.setdefault(name, setting)

    def bring_condition(self, clause: Clause, other: Book, name: str) -> None:
        mine = self.book
        if mine.conditions.setdefault(name, other.conditions[name]) != other.conditions[name]:
            self.say("condition-twice", clause.body, f"condition `{name}` means something else in `{other.name}`")
        mine.signatures.setdefault(name, other.signatures[name])
        mine.condition_texts.setdefault(name, other.condition_texts[name])

    def because(self, layout: Layout, clause: Clause) -> tuple[Span, str]:
        """The stretch before ``because``, and the reason after it."""
        text = layout.clean[clause.body.start : clause.body.end]
        match = re.search(r"\bbecause\b(?=\s*\")", text)
        if match is None:
            raise MistakeError(
                mistake("clause-missing", clause.word_span, f'`{clause.word}` needs a reason: `because "..."`')
            )
        rest = layout.source.span(clause.body.start + match.end(), clause.body.end)
        end = clause.body.start + len(text[: match.start()].rstrip())
        return layout.source.span(clause.body.start, end), string(layout, rest)

    def setting(self, layout: Layout, clause: Clause) -> None:
        what, because = self.because(layout, clause)
        text = _flat(layout, what)
        match = re.match(
            r"(?P<name>\S+)\s+(?P<value>.+?)(?:\s+one\s+of\s+(?P<choices>.+?))?\s+known\s+(?P<known>.+)$", text
        )
        if match is None:
            raise MistakeError(
                mistake("bad-setting", what, 'a setting reads `NAME VALUE [one of WORDS] known SOURCE because "..."`')
            )
        name, choices, known = match["name"], tuple((match["choices"] or "").split()), match["known"]
        problem = slug_problem(name, what)
        if problem is not None:
            raise MistakeError(problem)
        if name in self.book.settings:
            owner = self.book.settings[name].book
            raise MistakeError(
                mistake("setting-twice", what, f"`{name}` is a setting of `{owner}` already; change it with `set`")
            )
        if known not in SOURCES:
            offered = ", ".join(f"`{source}`" for source in SOURCES)
            raise MistakeError(mistake("unknown-word", what, f"`{known}` is not one of {offered}"))
        value = self.value(match["value"], choices, what)
        self.book.settings[name] = NamedSetting(name, value, choices, known, because, self.text.name)

    def value(self, text: str, choices: tuple[str, ...], span: Span) -> Quantity | Word:
        if not choices:
            if not text[:1].isdigit():
                raise MistakeError(
                    mistake("bad-setting", span, f"`{text}` is no quantity; a word needs its choices: `one of ...`")
                )
            return read_quantity(text, span)
        if text not in choices:
            offered = ", ".join(f"`{choice}`" for choice in choices)
            raise MistakeError(mistake("unknown-word", span, f"`{text}` is not one of {offered}"))
        return Word(text)

    def set(self, layout: Layout, clause: Clause) -> None:
        what, because = self.because(layout, clause)
        name, _, text = _flat(layout, what).partition(" ")
        old = self.book.settings.get(name)
        if old is None:
            close = self.catalogue.nearest(name, self.book.settings)
            hint = f"; did you mean `{close}`?" if close else ""
            raise MistakeError(mistake("unknown-setting", what, f"no adopted book has a setting `{name}`{hint}"))
        value = self.value(text.strip(), old.choices, what)
        if isinstance(value, Quantity) and isinstance(old.value, Quantity) and value.dimension != old.value.dimension:
            raise MistakeError(
                mistake("unlike-dimensions", what, f"`{name}` is a {old.value.dimension}, not a {value.dimension}")
            )
        self.clashes.pop(name, None)
        new = old._replace(value=value)
        change = Change(self.text.name, f"set to {new.said} from {old.said}", because)
        self.book.settings[name] = new._replace(changes=(*old.changes, change))

    def changes(self, layout: Layout, block: Block) -> None:
        for clause in block.clauses:
            if clause.word in ("raise", "lower", "retire", "may-waive", "may-not-waive"):
                try:
                    self.change(layout, clause)
                except MistakeError as error:
                    self.problems.append(error.diagnostic)

    def change(self, layout: Layout, clause: Clause) -> None:
        what, because = self.because(layout, clause)
        words = _flat(layout, what).split()
        rule = self.book.rules.get(words[0]) if words else None
        if rule is None:
            close = self.catalogue.nearest(words[0], self.book.rules) if words else None
            hint = f"; did you mean `{close}`?" if close else ""
            raise MistakeError(mistake("unknown-rule", what, f"no rule here is named `{' '.join(words)}`{hint}"))
        if clause.word in ("retire", "may-waive", "may-not-waive") and len(words) > 1:
            raise MistakeError(mistake("unexpected-word", what, f"`{clause.word}` takes one rule, then `because`"))
        if clause.word == "may-not-waive":
            self.book.unwaivable[rule.slug] = Change(self.text.name, "may not be waived", because)
            return
        if clause.word == "may-waive":
            self.book.waivable[rule.slug] = Change(self.text.name, "may be waived", because)
            return
        if clause.word == "retire":
            if rule.book == self.text.name:
                raise MistakeError(mistake("own-rule", what, f"`{rule.slug}` is this book's own; take it out instead"))
            del self.book.rules[rule.slug]
            self.book.retired[rule.slug] = Change(self.text.name, f"retired from {rule.book}", because)
            return
        if len(words) != 3 or words[1] != "to" or words[2] not in LEVELS:
            raise MistakeError(
                mistake("unknown-word", what, f"`{clause.word} RULE to LEVEL`, a level being {', '.join(LEVELS)}")
            )
        level = LEVELS[words[2]]
        if (level <= rule.level) if clause.word == "raise" else (level >= rule.level):
            raise MistakeError(
                mistake(
                    "level-direction", what, f"`{clause.word}` to {level.word}, but `{rule.slug}` is {rule.level.word}"
                )
            )
        change = Change(self.text.name, f"{clause.word} to {level.word} from {rule.level.word}", because)
        change = change._replace(what=change.what.replace("raise", "raised", 1).replace("lower", "lowered", 1))
        self.book.rules[rule.slug] = rule._replace(level=level, changes=(*rule.changes, change))

    def listed(self, layout: Layout, block: Block) -> None:
        """The clause table: each clause has rules or a reason, and each rule of this book's own or taken a clause."""
        entries: dict[str, Entry] = {}
        for clause in block.clauses:
            if clause.word != "clause":
                continue
            try:
                entry = read_entry(layout, clause, self.text.name, SOURCES)
            except MistakeError as error:
                self.problems.append(error.diagnostic)
                continue
            if entry.listed.label in entries:
                self.say("clause-twice", clause.body, f"{entry.listed.label} is listed already")
                continue
            entries[entry.listed.label] = entry
            self.problems += entry_problems(entry, self.book.rules, self.text.name, self.catalogue.nearest)
            for slug in entry.listed.rules:
                if slug in self.book.rules:
                    self.book.rules[slug] = cited(self.book.rules[slug], entry.listed)
        self.book.clauses.extend(entry.listed for entry in entries.values())
        named = {slug for entry in entries.values() for slug in entry.listed.rules}
        for slug, rule in self.book.rules.items():
            if entries and slug not in named and (rule.book == self.text.name or slug in self.taken):
                self.say("rule-without-clause", block.word_span, f"no clause that this book lists names rule `{slug}`")

    # ---- conditions ----

    def condition_names(self) -> tuple[str, ...]:
        return (*self.book.conditions, *self.pending)

    def conditions(self, blocks: list[tuple[Layout, Block]]) -> None:
        for layout, block in blocks:
            match = re.match(r"[^\s(]+", block.head.text)
            name = match[0] if match else ""
            problem = slug_problem(name, block.head)
            if problem is not None:
                self.problems.append(problem)
            elif name in self.pending or name in self.book.conditions:
                self.say("condition-twice", block.head, f"condition `{name}` is given its meaning elsewhere already")
            else:
                self.pending[name] = (layout, block)
        for name in list(self.pending):
            self.signature(name)

    def signature(self, name: str) -> Signature | None:
        """Check a condition when it is first called, so that what it calls is checked before it."""
        if name in self.book.signatures:
            return self.book.signatures[name]
        if name not in self.pending:
            return None
        layout, block = self.pending[name]
        if name in self.checking:  # raised through the one that calls, which is then the one at fault
            circle = " -> ".join((*self.checking[self.checking.index(name) :], name))
            raise MistakeError(mistake("condition-circle", block.head, f"conditions go in a circle: {circle}"))
        self.checking.append(name)
        outer = getattr(self.checker, "phrase", None)
        try:
            tree, phrase = parse(layout, block.head, "definition")
            tokens = [child for child in tree.children if isinstance(child, Token)]
            body_tree = tree.children[-1]
            scope = Scope({})
            parameters: list[tuple[str, Kind]] = []
            for at in range(1, len(tokens) - 1, 2):
                kind = self.checker.kind(tokens[at + 1], phrase)
                parameter = self.checker.new_name(tokens[at], scope, phrase)
                scope = scope._replace(names={**scope.names, parameter: kind})
                parameters.append((parameter, kind))
            if len(parameters) > MOST_PARAMETERS:
                raise MistakeError(
                    mistake("too-deep", phrase.span(tokens[-1]), f"a condition takes {MOST_PARAMETERS} things at most")
                )
            assert not isinstance(body_tree, Token)
            assert body_tree is not None
            body = self.checker.formula(body_tree, phrase, scope)
        except MistakeError as error:
            # said once, where the condition stands; of what calls it is then said only that it is unusable
            self.pending.pop(name, None)
            self.checker.unusable.add(name)
            self.problems.append(error.diagnostic)
            return None
        finally:
            self.checking.pop()
            if outer is not None:
                self.checker.phrase = outer
        self.book.conditions[name] = Condition(name, tuple(parameters), body)
        self.book.condition_texts[name] = " ".join(layout.clean[block.head.start : block.head.end].split())
        self.book.signatures[name] = Signature(tuple(parameters), state_only(body, self.signature))
        self.pending.pop(name, None)
        return self.book.signatures[name]

    # ---- rules ----

    def rules(self, blocks: list[tuple[Layout, Block]]) -> None:
        places: dict[str, str] = {}
        for layout, block in blocks:
            reader = RuleReader(layout, block, self.text.name, self.checker)
            slug = layout.clean[block.head.start : block.head.end].strip()
            if slug in self.book.rules or slug in places:
                where = places.get(slug) or f"book `{self.book.rules[slug].book}`"
                self.say("rule-twice", block.head, f"rule `{slug}` stands already, in {where}")
                continue
            places[slug] = f"{layout.source.name} at line {block.word_span.line}"
            rule = reader.read()
            self.problems.extend(reader.problems)
            for example in reader.examples:
                bases = [name for owner, name in self.book.bases if owner == self.text.name]
                if example.base not in bases:
                    close = self.catalogue.nearest(example.base, bases)
                    hint = f"; did you mean `{close}`?" if close else ""
                    self.say(
                        "unknown-base",
                        _line(layout, example.line),
                        f"there is no base plan bases/{example.base}.tpg in `{self.text.name}`{hint}",
                    )
            if rule is not None:
                self.book.rules[slug] = rule
                self.book.rule_texts[slug] = reader.text
                self.book.examples.extend(reader.examples)


def _line(layout: Layout, number: int) -> Span:
    start = layout.source.line_starts[number - 1]
    text = layout.source.line_text(number)
    return layout.source.span(start + len(text) - len(text.lstrip()), start + len(text.rstrip()))


def _flat(layout: Layout, span: Span) -> str:
    return " ".join(layout.clean[span.start : span.end].split())

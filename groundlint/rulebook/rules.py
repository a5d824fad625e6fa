"""A ``rule`` block read into a `Rule`: every clause checked, each thing wrong a diagnostic at its line."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeVar

from lark import Token, Tree

from groundlint.facts.catalogue import Kind
from groundlint.rulebook import core
from groundlint.rulebook.check import Checker, Scope, slot_words
from groundlint.rulebook.core import Formula
from groundlint.rulebook.grammar import KEYWORDS, Branch, MistakeError, Phrase, parse, parse_text
from groundlint.rulebook.layout import EXAMPLES, Block, Clause, Layout, mistake
from groundlint.rulebook.model import Demand, Example, Later, Mark, Occasion, Repair, Rule, SlotName, Template, Those
from groundlint.text import Diagnostic, Severity, Span

LEVELS = {severity.word: severity for severity in Severity}
SOURCES = ("published", "common practice", "from memory")
CLAUSES = (
    "level", "title", "cites", "known", "because", "at", "for", "once", "while", "where", "unless", "require", "say",
    "mend", "repair", "mark", "words", "stable", *EXAMPLES, "lacks",
)  # fmt: skip
_ONE_ONLY = frozenset({"level", "title", "known", "because", "at", "for", "once", "while", "mark", "words", "stable"})
_REQUIRED = ("level", "title", "cites", "known", "because", "require", "say", "passes", "fails")
_STRING = re.compile(r'"([^"\n]*)"')
_SLUG = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*\Z")
_MOST_THINGS = 2
REPAIRS = ("before", "after", "add", "bring", "defer", "swap ends", "number steps", "or")
"""How a repair begins."""
LACKABLE = ("fails", "unshown", "reworded")
T = TypeVar("T")


def slug_problem(word: str, span: Span) -> Diagnostic | None:
    """What is wrong with a slug or a name, if anything."""
    if not _SLUG.match(word):
        return mistake("bad-name", span, f"`{word}` is no name; names are lower-case words joined by hyphens")
    if word in KEYWORDS:
        return mistake("bad-name", span, f"`{word}` is a word of the rule language; nothing can be named so")
    return None


def strings(layout: Layout, span: Span) -> list[tuple[str, Span]]:
    """The double-quoted strings that fill a stretch; raises `MistakeError` if anything else stands there."""
    text = layout.clean[span.start : span.end]
    found: list[tuple[str, Span]] = []
    at = 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        match = _STRING.match(text, at)
        if match is None:
            end = text.find("\n", at)
            rest = layout.source.span(span.start + at, span.start + (end if end >= 0 else len(text)))
            raise MistakeError(
                mistake("not-a-string", rest, "text in double quotes should stand here, closed on its line")
            )
        found.append((match[1], layout.source.span(span.start + match.start(1), span.start + match.end(1))))
        at = match.end()
    if not found:
        raise MistakeError(mistake("not-a-string", span, "text in double quotes should stand here"))
    return found


def string(layout: Layout, span: Span) -> str:
    """The strings of a stretch, joined by spaces."""
    return " ".join(text.strip() for text, _ in strings(layout, span))


class RuleReader:
    """Reads one block. ``problems`` holds what was wrong; `read` gives a rule only if nothing was."""

    def __init__(self, layout: Layout, block: Block, book: str, checker: Checker) -> None:
        self.layout = layout
        self.block = block
        self.book = book
        self.checker = checker
        self.problems: list[Diagnostic] = []
        self.scope = Scope({})
        self.examples: list[Example] = []
        self.text = ""

    def read(self) -> Rule | None:
        """The rule, or ``None`` with ``problems``."""
        slug = self.layout.clean[self.block.head.start : self.block.head.end].strip()
        problem = slug_problem(slug, self.block.head if slug else self.block.word_span)
        if problem is not None:
            self.problems.append(problem)
        self._known_clauses()
        occasion, trigger_of_things = self._occasion()
        if occasion is None:
            return None  # no name is bound, so that all the rest would be found at fault for it
        triggers = [trigger_of_things] if trigger_of_things is not None else []
        for clause in self._all("where", "unless"):
            found = self._try(lambda clause=clause: self._condition(clause))  # type: ignore[misc]
            if found is not None:
                triggers.append(core.Not(found) if clause.word == "unless" else found)
        demands = self._demands()
        level = self._one_of("level", tuple(LEVELS))
        known = self._one_of("known", SOURCES)
        heading = self._optional("title", self._heading) or ()
        because = self._string("because")
        cites = tuple(self._text(clause) for clause in self._all("cites"))
        repairs = [self._try(lambda clause=clause: self._repair(clause, occasion)) for clause in self._all("repair")]  # type: ignore[misc]
        mark = self._optional("mark", self._mark)
        stable = self._one_of("stable", ("yes", "no")) if self._all("stable") else "yes"
        words = self._optional("words", self._reason) or ""
        for clause in self._all(*EXAMPLES):
            self._try(lambda clause=clause: self._example(slug, clause))  # type: ignore[misc]
        lacks = [self._try(lambda clause=clause: self._lacking(clause)) for clause in self._all("lacks")]  # type: ignore[misc]
        if self.problems:
            return None
        last = self.block.clauses[-1]
        end = last.lines[-1].span.end if last.lines else last.body.end
        self.text = self.layout.source.text[self.block.word_span.start : end]
        return Rule(
            slug, self.book, LEVELS[level], "", cites, known, because, occasion,
            core.conjunction(tuple(triggers)) if triggers else None,
            demands, mark, stable == "yes", self.layout.source.name, self.block.word_span.line, (),
            tuple(entry for entry in lacks if entry is not None),
            tuple(entry for entry in repairs if entry is not None), words, heading,
        )  # fmt: skip

    # ---- clauses in general ----

    def _known_clauses(self) -> None:
        seen: dict[str, Clause] = {}
        for clause in self.block.clauses:
            if clause.word not in CLAUSES:
                close = self.checker.catalogue.nearest(clause.word, CLAUSES)
                hint = f"; did you mean `{close}`?" if close else f"; clauses are {', '.join(CLAUSES)}"
                self._add("unknown-clause", clause.word_span, f"a rule has no clause `{clause.word}`{hint}")
            elif clause.word in _ONE_ONLY and clause.word in seen:
                first = seen[clause.word].word_span.line
                self._add("clause-twice", clause.word_span, f"`{clause.word}` stands at line {first} already")
            seen.setdefault(clause.word, clause)
        for word in _REQUIRED:
            # a demand that the plan *states* something can come out met or not shown, and never broken
            if word not in seen and not (word == "fails" and {"unshown", "lacks"} & seen.keys()):
                self._add("clause-missing", self.block.head, f"this rule has no `{word}`; {_WHY[word]}")
        if not {"at", "for", "once", "while"} & seen.keys():
            self._add(
                "clause-missing", self.block.head, "this rule never asks; it needs `at`, `while`, `for` or `once`"
            )
        if "once" in seen and {"at", "for", "while"} & seen.keys():
            self._add(
                "clause-twice",
                seen["once"].word_span,
                "`once` asks at the end alone; it cannot join `at`, `while` or `for`",
            )
        if {"at", "while"} <= seen.keys():
            self._add(
                "clause-twice",
                seen["while"].word_span,
                "`at` asks when something happens and `while` for as long as something is so; one rule has one of them",
            )

    def _add(self, code: str, span: Span, message: str) -> None:
        self.problems.append(mistake(code, span, message))

    def _try(self, read: Callable[[], T]) -> T | None:
        try:
            return read()
        except MistakeError as error:
            self.problems.append(error.diagnostic)
            return None

    def _all(self, *words: str) -> list[Clause]:
        return [clause for clause in self.block.clauses if clause.word in words]

    def _optional(self, word: str, read: Callable[[Clause], T]) -> T | None:
        clauses = self._all(word)
        return self._try(lambda: read(clauses[0])) if clauses else None

    def _text(self, clause: Clause) -> str:
        """The words of a clause on one line."""
        text = " ".join(self.layout.clean[clause.body.start : clause.body.end].split())
        if not text:
            self._add("empty-clause", clause.word_span, f"`{clause.word}` says nothing")
        return text

    def _one_of(self, word: str, options: tuple[str, ...]) -> str:
        clauses = self._all(word)
        if not clauses:
            return ""
        text = self._text(clauses[0])
        if text and text not in options:
            offered = ", ".join(f"`{option}`" for option in options)
            close = self.checker.catalogue.nearest(text, options)
            hint = f"; did you mean `{close}`?" if close else ""
            self._add("unknown-word", clauses[0].body, f"`{text}` is not one of {offered}{hint}")
        return text

    def _string(self, word: str) -> str:
        return self._optional(word, lambda clause: string(self.layout, clause.body)) or ""

    # ---- when it asks ----

    def _occasion(self) -> tuple[Occasion | None, Formula | None]:
        if not self._all("at", "for", "once", "while"):
            return None, None
        lasting = bool(self._all("while"))
        self.scope = self.scope._replace(lasting=lasting)
        step: str | None = None
        every = False
        slots: tuple[SlotName, ...] = ()
        things: tuple[tuple[str, Kind], ...] = ()
        trigger: Formula | None = None
        for clause in self._all("at")[:1]:
            found = self._try(lambda clause=clause: self._at(clause))  # type: ignore[misc]
            if found is None:
                return None, None
            step, every, slots = found
        for clause in self._all("for")[:1]:
            got = self._try(lambda clause=clause: self._for(clause))  # type: ignore[misc]
            if got is None:
                return None, None
            things, trigger = got
        for clause in self._all("while")[:1]:
            held = self._try(lambda clause=clause: self._condition(clause))  # type: ignore[misc]
            if held is None:
                return None, None
            trigger = held if trigger is None else core.conjunction((trigger, held))
        for clause in self._all("once"):
            if clause.body.text.strip():
                self._add("unexpected-word", clause.body, "nothing follows `once`; conditions go in `where`")
        return Occasion(step, every, slots, things, lasting), trigger

    def _at(self, clause: Clause) -> tuple[str | None, bool, tuple[SlotName, ...]]:
        tree, phrase = parse(self.layout, clause.body, "occasion")
        if tree.data == "every_step":
            if [str(child) for child in tree.children] not in (["every", "step"], ["each", "step"]):
                raise MistakeError(mistake("unexpected-word", clause.body, "`at every step`, or `at` a kind of step"))
            return None, True, ()
        words = [child for child in tree.children if isinstance(child, Token)]
        step = self.checker.step(words[0], phrase)
        # a word after a name that is no preposition of the step is a kind that narrows the slot: `to place conductor`
        leads = {slot.preposition for slot in step.slots}
        kept: list[Token | Branch] = []
        kinds: dict[int, Token] = {}
        led = False
        for word in words[1:]:
            if str(word) in leads and not led:
                kept.append(word)
                led = True
            elif kept and not led and str(kept[-1]) not in leads and id(kept[-1]) not in kinds:
                if str(word) not in self.checker.catalogue.kinds:
                    kept.append(word)
                    continue
                kinds[id(kept[-1])] = word
            else:
                kept.append(word)
                led = False
        found: list[SlotName] = []
        for slot, node in slot_words(self.checker, step, kept):
            assert isinstance(node, Token)
            narrowing = kinds.get(id(node))
            kind = self.checker.kind(narrowing, phrase) if narrowing is not None else slot.kind
            if narrowing is None and str(node) != slot.name:
                raise MistakeError(
                    mistake(
                        "wrong-slot",
                        phrase.span(node),
                        f"`{step.name}` calls this place `{slot.name}`; "
                        f"write that, or another name and a kind: `{node} {slot.kind}`",
                    )
                )
            if not any(
                self.checker.catalogue.is_a(k, kind) and self.checker.catalogue.is_a(k, slot.kind)
                for k in self.checker.catalogue.kinds
            ):
                raise MistakeError(
                    mistake("wrong-slot", phrase.span(node), f"`{step.name}` names a {slot.kind} here, never a {kind}")
                )
            name = self.checker.new_name(node, self.scope, phrase)
            self._bind(name, kind)
            narrowed = narrowing is not None and not self.checker.catalogue.is_a(slot.kind, kind)
            found.append(SlotName(slot.name, name, kind, narrowed))
        return step.name, False, tuple(found)

    def _bind(self, name: str, kind: Kind) -> None:
        self.scope = self.scope._replace(names={**self.scope.names, name: kind})

    def _for(self, clause: Clause) -> tuple[tuple[tuple[str, Kind], ...], Formula | None]:
        tree, phrase = parse(self.layout, clause.body, "things")
        found: list[tuple[str, Kind]] = []
        where: Formula | None = None
        for child in tree.children:
            if not isinstance(child, Tree):
                continue
            if child.data == "binding":
                first, second = child.children
                assert isinstance(first, Token)
                kind = self.checker.kind(second if isinstance(second, Token) else first, phrase)
                name = self.checker.new_name(first, self.scope, phrase)
                if len(found) == _MOST_THINGS:
                    raise MistakeError(
                        mistake("too-deep", phrase.span(child), f"`for` takes {_MOST_THINGS} things at most")
                    )
                self._bind(name, kind)
                found.append((name, kind))
            else:
                where = self.checker.formula(child, phrase, self.scope)
        return tuple(found), where

    # ---- what it demands and says ----

    def _condition(self, clause: Clause) -> Formula:
        tree, phrase = parse(self.layout, clause.body, "condition")
        return self.checker.formula(tree, phrase, self.scope)

    def _demands(self) -> tuple[Demand, ...]:
        """What is required, with what to say and the first `mend` below that."""
        waiting: list[tuple[Formula, str]] = []
        found: list[Demand] = []
        mended = 0
        last: Clause | None = None
        for clause in self._all("require", "say", "mend"):
            if clause.word == "mend":
                mend = self._try(lambda clause=clause: self._template(clause))  # type: ignore[misc]
                if mended == len(found) and not self.problems:
                    self._add("mend-alone", clause.word_span, "this `mend` follows no `say` that it could mend")
                found[mended:] = [demand._replace(mend=mend) for demand in found[mended:]]
                mended = len(found)
            elif clause.word == "require":
                condition = self._try(lambda clause=clause: self._condition(clause))  # type: ignore[misc]
                last = clause
                if condition is not None:
                    waiting.append((condition, self._text(clause)))
            else:
                template = self._try(lambda clause=clause: self._template(clause))  # type: ignore[misc]
                if last is None:
                    self._add("say-alone", clause.word_span, "this `say` follows no `require` that it could speak for")
                last = None
                if template is not None:
                    found.extend(Demand(condition, template, text) for condition, text in waiting)
                waiting = []
        if last is not None and self._all("say"):
            self._add("clause-missing", last.word_span, "no `say` follows this `require`")
        return tuple(found)

    def _repair(self, clause: Clause, occasion: Occasion) -> Repair:
        """``before "TEXT"``, ``after last STEP "TEXT"``, ``add "TEXT" for "WORDS"``, ``swap ends``, ``number steps``,
        ``bring first STEP`` or ``defer last STEP``; each with ``or`` before it, or without."""
        body = self.layout.clean[clause.body.start : clause.body.end]
        found = re.match(r"\s*(or\s+)?([a-z]*)\s*([^\"]*)", body)
        assert found is not None  # all of it may be empty
        instead, how, rest = found[1] is not None, found[2], found[3].strip()
        if rest == "steps" and how == "number" and not body[found.end() :].strip():
            return Repair(how, instead=instead)
        if occasion.step is None and not (occasion.every or occasion.lasting) and not self._all("mark"):
            words = "a repair stands at a step; this rule asks at none, and has no `mark`"
            raise MistakeError(mistake("repair-without-step", clause.word_span, words))
        start = clause.body.start
        beside = self.layout.source.span(start + found.start(3), start + found.end(3))
        text = self.layout.source.span(beside.end, clause.body.end)
        if how == "swap" and rest == "ends" and not body[found.end() :].strip():
            return Repair(how, instead=instead)
        if how == "add" and not rest:
            cut = re.search(r"(?<=\")\s*for\s*(?=\"[^\"]*\"\s*$)", body)
            if cut is None:
                return Repair(how, self._template_in(text), instead=instead)
            words = string(self.layout, self.layout.source.span(start + cut.end(), clause.body.end))
            added = self.layout.source.span(beside.end, start + cut.start())
            return Repair(how, self._template_in(added), instead=instead, words=words)
        if how in ("before", "after"):
            return Repair(how, self._template_in(text), self._mark_in(beside) if rest else None, instead)
        if how in ("bring", "defer"):
            moved = self.layout.source.span(beside.start, clause.body.end)
            return Repair(how, step=self._mark_in(moved), instead=instead)
        words = "a repair begins with `before`, `after`, `add`, `bring` or `defer`, or is `swap ends` or `number steps`"
        raise MistakeError(mistake("unknown-word", clause.body, words))

    def _heading(self, clause: Clause) -> Template:
        """A title, which stands for the rule where nothing is bound: it names settings and no things."""
        scope, self.scope = self.scope, Scope({})
        try:
            heading = self._template(clause)
        finally:
            self.scope = scope
        if any(not isinstance(part, str | core.Setting) for part in heading):
            words = "a title names settings alone: `{rod-stand-off}`"
            raise MistakeError(mistake("title-of-a-thing", clause.body, words))
        return heading

    def _template(self, clause: Clause) -> Template:
        return self._template_in(clause.body)

    def _template_in(self, body: Span) -> Template:
        parts: list[str | core.Term | Later | Those] = []
        for number, (text, span) in enumerate(strings(self.layout, body)):
            at = 0
            if number:
                parts.append(" ")
            for match in re.finditer(r"\{([^{}]*)\}", text):
                self._braces(text[at : match.start()], span, at)
                parts.append(text[at : match.start()])
                inner = self.layout.source.span(span.start + match.start(1), span.start + match.end(1))
                parts.append(self._placeholder(*parse_text(self.layout.source, inner, match[1], "placeholder")))
                at = match.end()
            self._braces(text[at:], span, at)
            parts.append(text[at:])
        return tuple(part for part in parts if part != "")

    def _placeholder(self, tree: Branch, phrase: Phrase) -> core.Term | Later | Those:
        if tree.data == "names_of":  # it names what `count of` counts
            those = self.checker.term(Tree("count", tree.children, tree.meta), phrase, self.scope)
            assert isinstance(those, core.Count)
            return Those(those)
        if tree.data != "later":
            return self.checker.term(tree, phrase, self.scope)
        if self.scope.lasting:
            words = "`after` in a `while` rule, which asks of no step; leave it out"
            raise MistakeError(mistake("after-in-while", phrase.span(tree), words))
        (inner,) = tree.children
        assert isinstance(inner, Tree)
        return Later(self.checker.term(inner, phrase, self.scope))

    def _braces(self, text: str, span: Span, at: int) -> None:
        for offset, letter in enumerate(text):
            if letter in "{}":
                place = self.layout.source.span(span.start + at + offset, span.start + at + offset + 1)
                raise MistakeError(mistake("open-placeholder", place, f"`{letter}` without its fellow"))

    def _mark(self, clause: Clause) -> Mark:
        return self._mark_in(clause.body)

    def _mark_in(self, body: Span) -> Mark:
        tree, phrase = parse(self.layout, body, "mark")
        which, *words = tree.children
        assert isinstance(which, Token)
        if str(which) not in ("first", "last"):
            raise MistakeError(mistake("unknown-word", phrase.span(which), f"`{which}` is not one of `first`, `last`"))
        return Mark(str(which) == "last", self.checker.did(list(words), phrase, self.scope))

    def _reason(self, clause: Clause) -> str:
        """`words because "..."`: why the rule asks at a kind of step and not at what steps of that kind do."""
        text = self.layout.clean[clause.body.start : clause.body.end]
        head, found, _ = text.partition("because")
        if head.strip() or not found:
            raise MistakeError(mistake("unexpected-word", clause.body, '`words` reads `words because "..."`'))
        return string(self.layout, self.layout.source.span(clause.body.start + len(head) + len(found), clause.body.end))

    def _lacking(self, clause: Clause) -> tuple[str, str]:
        """`lacks fails because "..."`: a kind of example that there can be none of."""
        text = self.layout.clean[clause.body.start : clause.body.end]
        head, found, _ = text.partition("because")
        kind = head.strip()
        if kind not in LACKABLE or not found:
            offered = " or ".join(f"`{word}`" for word in LACKABLE)
            reads = f'`lacks` reads `lacks KIND because "..."`, KIND being {offered}'
            raise MistakeError(mistake("unexpected-word", clause.body, reads))
        if self._all(kind):
            raise MistakeError(mistake("lacks-what-it-has", clause.body, f"this rule has an example `{kind}`"))
        start = clause.body.start + len(head) + len(found)
        return kind, string(self.layout, self.layout.source.span(start, clause.body.end))

    def _example(self, slug: str, clause: Clause) -> None:
        words = self.layout.clean[clause.body.start : clause.body.end].split()
        base = "base"
        if words:
            if len(words) != 2 or words[0] != "on":
                raise MistakeError(
                    mistake(
                        "unexpected-word", clause.body, "`on` and the name of a base plan may stand here, and no more"
                    )
                )
            base = words[1]
        lines = tuple((line.marker, line.text) for line in clause.lines)
        if clause.word in ("passes", "nearmiss", "exempts") and any(marker == ">" for marker, _ in lines):
            self._add("marked-pass", clause.word_span, f"`>` marks where a finding falls, and `{clause.word}` has none")
        self.examples.append(Example(slug, clause.word, base, lines, self.layout.source.name, clause.word_span.line))


_WHY = {
    "level": "one of danger, warning, caution, notice",
    "title": "what it demands, in a few words",
    "cites": "every rule names its source",
    "known": "`published`, `common practice` or `from memory`",
    "because": "what goes wrong if it is broken",
    "require": "what must hold",
    "say": "the message for when it is broken",
    "passes": "an example on which it is met",
    "fails": "an example on which it is broken; `unshown` stands in for it where a plan can only fail to say",
}

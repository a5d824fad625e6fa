"""Conditions checked against the catalogue: names resolved, dimensions held against each other, sugar expanded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple, NoReturn

from lark import Token, Tree

from groundlint.facts.catalogue import PLAN, STEP, TRUTH, Catalogue, Fact, Kind, Slot, StepKind
from groundlint.rulebook import core, dimensions
from groundlint.rulebook.core import Formula, Term
from groundlint.rulebook.dimensions import Powers
from groundlint.rulebook.grammar import Branch, MistakeError, Phrase
from groundlint.rulebook.layout import mistake
from groundlint.rulebook.model import NamedSetting
from groundlint.rulebook.quantities import read_quantity
from groundlint.text import Span

MOST_TIMES = 5
"""Largest N of ``at least N times``; the expansion nests N deep, and a rule that counts further wants a fact."""
MOST_NODES = 2000
"""Most parts that a shape may expand to: shapes within shapes repeat what is in them."""
DEEPEST = 2
"""How deep quantifiers and counts may nest within one text."""


class Type(NamedTuple):
    """What a term is: a thing of a kind, a quantity of a dimension, or a word of a choice."""

    sort: str
    kind: Kind = ""
    powers: Powers = ()
    words: frozenset[str] = frozenset()


class Signature(NamedTuple):
    """What a call needs to know of a condition; ``state_only`` if it never looks at steps or at the past."""

    parameters: tuple[tuple[str, Kind], ...]
    state_only: bool


class Scope(NamedTuple):
    """Names bound around a piece of text, and where the text stands."""

    names: Mapping[str, Kind]
    depth: int = 0
    after: bool = False
    lasting: bool = False
    """It is asked of the world between two steps, where there is no step at hand: in a `while` rule."""

    def bind(self, name: str, kind: Kind) -> Scope:
        """The same with one name more."""
        return self._replace(names={**self.names, name: kind}, depth=self.depth + 1)


class Checker:
    """Turns trees of the grammar into core; raises `MistakeError` at the first thing wrong in a clause."""

    def __init__(
        self,
        catalogue: Catalogue,
        settings: Mapping[str, NamedSetting],
        signature: Callable[[str], Signature | None],
        condition_names: Callable[[], tuple[str, ...]],
    ) -> None:
        self.catalogue = catalogue
        self.settings = settings
        self.signature = signature
        self.condition_names = condition_names
        self.unusable: set[str] = set()  # conditions with a mistake of their own, said where they stand
        self.phrase: Phrase

    # ---- entry points ----

    def formula(self, tree: Branch, phrase: Phrase, scope: Scope) -> Formula:
        """A condition."""
        self.phrase = phrase
        return self._formula(tree, scope)

    def term(self, tree: Branch, phrase: Phrase, scope: Scope) -> Term:
        """A term to be said in a message: anything with a value."""
        self.phrase = phrase
        term, kind = self._term(tree, scope)
        if kind.sort == "word":
            self._unknown_name(tree, scope)
        return term

    def did(self, words: list[Token | Branch], phrase: Phrase, scope: Scope) -> core.Did:
        """A kind of step and the terms in its slots."""
        self.phrase = phrase
        return self._did(words, scope)

    def step(self, token: Token, phrase: Phrase) -> StepKind:
        """The kind of step that a word names."""
        self.phrase = phrase
        found = self.catalogue.steps.get(str(token))
        if found is None:
            self._fail(
                "unknown-step",
                token,
                f"no kind of step is named `{token}`{self._near(token, self.catalogue.steps)}",
            )
        return found

    def new_name(self, token: Token, scope: Scope, phrase: Phrase) -> str:
        """A name about to be bound; it must be free."""
        self.phrase = phrase
        name = str(token)
        if name in scope.names:
            self._fail("name-taken", token, f"`{name}` is bound already; give this one another name")
        if name in (PLAN, STEP, "it"):
            self._fail("name-taken", token, f"`{name}` has a meaning of its own; give this one another name")
        if name in self.settings:
            self._fail("name-taken", token, f"`{name}` is a setting of the book; give this one another name")
        return name

    def kind(self, token: Token, phrase: Phrase) -> Kind:
        """The kind of thing that a word names."""
        self.phrase = phrase
        if str(token) not in self.catalogue.kinds:
            self._fail(
                "unknown-kind", token, f"no kind of thing is named `{token}`{self._near(token, self.catalogue.kinds)}"
            )
        return str(token)

    # ---- failing ----

    def _fail(self, code: str, node: Branch | Token, message: str, mend: str = "") -> NoReturn:
        raise MistakeError(mistake(code, self._span(node), message, mend))

    def _span(self, node: Branch | Token) -> Span:
        return self.phrase.span(node)

    def _near(self, word: str, among: Mapping[str, object] | tuple[str, ...]) -> str:
        close = self.catalogue.nearest(str(word), tuple(among))
        return f"; did you mean `{close}`?" if close else ""

    # ---- conditions ----

    def _formula(self, tree: Branch, scope: Scope) -> Formula:
        match str(tree.data):
            case "group":
                return self._formula(_branch(tree, 0), scope)
            case "disjunction" | "conjunction":
                parts = tuple(self._formula(self._unmixed(child), scope) for child in _branches(tree))
                return core.Or(parts) if tree.data == "disjunction" else core.And(parts)
            case "implies":
                left, right = (self._formula(self._unmixed(child), scope) for child in _branches(tree))
                return core.Implies(left, right)
            case "negation":
                return core.Not(self._formula(_branches(tree)[0], scope))
            case "truth":
                return self._truth(tree, scope)
            case "compare":
                return self._compare(tree, scope)
            case "known_value" | "known_truth":
                return self._known(tree, scope)
            case "call":
                return self._call(tree, scope)
            case "quantified":
                return self._quantified(tree, scope)
            case "after":
                if scope.lasting:
                    self._fail("after-in-while", tree, "`after` in a `while` rule, which asks of no step; leave it out")
                if scope.after:
                    self._fail("after-in-after", tree, "`after` within `after`: it is the same world")
                return core.After(self._formula(_branch(tree, 0), scope._replace(after=True)))
            case "did":
                if scope.after:
                    self._fail(
                        "step-after", tree, "`did` within `after`: the world after a step has no step of its own"
                    )
                if scope.lasting:
                    self._fail(
                        "step-in-while", tree, "`did` in a `while` rule, which asks of no step; ask `earlier did ...`"
                    )
                return self._did(tree.children, scope)
            case _:
                return self._temporal(tree, scope)

    def _temporal(self, tree: Branch, scope: Scope) -> Formula:
        if scope.after:
            self._fail(
                "past-after",
                tree,
                f"`{_WORDS[str(tree.data)]}` within `after`, which asks only of the world that the step leaves",
            )
        found = self._expand(tree, scope)
        if core.larger(found, MOST_NODES):
            self._fail("too-long", tree, f"expands to more than {MOST_NODES} parts; name a part of it with `condition`")
        return found

    def _expand(self, tree: Branch, scope: Scope) -> Formula:
        data = str(tree.data)
        if data in ("since", "response", "response_before"):
            operands = [self._formula(self._bare(child, data), scope) for child in _branches(tree)]
            if data == "since":
                return core.Since(operands[0], operands[1])
            if data == "response":
                return core.followed(operands[0], operands[1])
            return core.followed_before(operands[0], operands[1], operands[2])
        number = next((child for child in tree.children if isinstance(child, Token) and child.type == "NUMBER"), None)
        if data in ("previously", "earlier"):
            scope = scope._replace(lasting=False)
        of = self._formula(_branches(tree)[0], scope)
        if number is not None:
            lowest = 0 if data in ("at_most", "exactly", "once_within") else 1
            highest = 10_000 if data == "once_within" else MOST_TIMES
            times = self._whole(number, lowest, highest)
            match data:
                case "once_within":
                    return core.Once(of, times)
                case "at_least":
                    return core.at_least(times, of)
                case "at_most":
                    return core.at_most(times, of)
                case _:
                    return core.exactly(times, of)
        match data:
            case "previously":
                return core.Previously(of)
            case "once":
                return core.Once(of)
            case "always":
                return core.Always(of)
            case "earlier":
                return core.earlier(of)
            case "never":
                return core.never(of)
            case "finally_":
                return core.Finally(of)
        raise AssertionError(data)

    def _whole(self, number: Token, lowest: int, highest: int) -> int:
        if not number.isdigit() or not lowest <= int(number) <= highest:
            self._fail("not-a-count", number, f"`{number}` must be a whole number from {lowest} to {highest}")
        return int(number)

    def _unmixed(self, tree: Branch) -> Branch:
        """An operand of ``and``, ``or``, ``implies``: a bare ``since`` there can be read in two ways."""
        if tree.data in ("since", "response", "response_before"):
            word = _WORDS[str(tree.data)]
            self._fail(
                "since-needs-parentheses",
                tree,
                f"`{word}` beside `and`, `or` or `implies` can be read in two ways; put parentheses round it",
            )
        return tree

    def _bare(self, tree: Branch, beside: str) -> Branch:
        """An operand of ``since``: a prefix there can be read in two ways."""
        if tree.data not in ("group", "truth", "compare", "known_value", "known_truth", "did", "call"):
            word = _WORDS.get(str(tree.data), str(tree.data))
            self._fail(
                "since-needs-parentheses",
                tree,
                f"`{word}` beside `{_WORDS[beside]}` can be read in two ways; put parentheses round it",
            )
        return tree

    def _truth(self, tree: Branch, scope: Scope) -> Formula:
        subject_tree, negated, name, other_tree = tree.children
        assert isinstance(subject_tree, Tree)
        assert isinstance(name, Token)
        subject, subject_kind = self._thing(subject_tree, scope)
        other, other_kind = self._thing(other_tree, scope) if isinstance(other_tree, Tree) else (None, None)
        fact = self._fact(name, subject_kind, other_kind, truth=True)
        found: Formula = core.Is(fact.key, subject, other)
        return core.Not(found) if negated is not None else found

    def _compare(self, tree: Branch, scope: Scope) -> Formula:
        left_tree, sign, right_tree = tree.children
        assert isinstance(left_tree, Tree)
        assert isinstance(right_tree, Tree)
        left, left_type = self._term(left_tree, scope)
        right, right_type = self._term(right_tree, scope)
        if left_type.sort == "word":
            self._word(left_tree, left_type, right_type, scope)
        elif right_type.sort == "word":
            self._word(right_tree, right_type, left_type, scope)
        elif left_type.sort != right_type.sort:
            self._fail("unlike-kinds", tree, f"compares {self._says(left_type)} with {self._says(right_type)}")
        elif left_type.sort == "quantity" and left_type.powers != right_type.powers:
            self._fail("unlike-dimensions", tree, f"compares {self._says(left_type)} with {self._says(right_type)}")
        elif left_type.sort == "thing" and not self._related(left_type.kind, right_type.kind):
            self._fail(
                "unlike-kinds", tree, f"compares {self._says(left_type)} with {self._says(right_type)}; never the same"
            )
        elif left_type.sort == "choice" and not left_type.words & right_type.words:
            self._fail("unlike-choices", tree, "compares two choices that have no word in common")
        if left_type.sort != "quantity" and str(sign) not in ("=", "!="):
            self._fail("no-order", tree, f"`{sign}` asks for an order, and {self._says(left_type)} has none")
        return core.Compare(str(sign), left, right)

    def _related(self, one: Kind, two: Kind) -> bool:
        """Whether something can be of both kinds: one is above the other, or a kind is below both."""
        return any(self.catalogue.is_a(kind, one) and self.catalogue.is_a(kind, two) for kind in self.catalogue.kinds)

    def _word(self, tree: Branch, word: Type, other: Type, scope: Scope) -> None:
        if other.sort != "choice":
            self._unknown_name(tree, scope)
        (said,) = word.words
        if said not in other.words:
            offered = ", ".join(f"`{choice}`" for choice in sorted(other.words))
            close = self.catalogue.nearest(said, (*other.words, *scope.names))
            hint = f"; did you mean `{close}`?" if close else ""
            self._fail("unknown-word", tree, f"`{said}` is not one of {offered}{hint}")

    def _known(self, tree: Branch, scope: Scope) -> Formula:
        if isinstance(tree.children[1], Token):
            self._fail(
                "is-not-known",
                tree,
                "`is not known` can never come out true, since what is missing must not count for anything; "
                "ask what should hold and it is not shown where the plan is silent",
            )
        inner = _branch(tree, 0)
        if tree.data == "known_truth":
            return core.Known(self._formula(inner, scope))
        term, kind = self._term(inner, scope)
        if kind.sort == "word":
            self._unknown_name(inner, scope)
        return core.Known(term)

    def _call(self, tree: Branch, scope: Scope) -> Formula:
        name = tree.children[0]
        assert isinstance(name, Token)
        signature = self.signature(str(name))
        if signature is None and str(name) in self.unusable:
            self._fail(
                "unusable-condition", name, f"condition `{name}` cannot be asked; see the mistake where it stands"
            )
        if signature is None:
            near = self._near(name, self.condition_names())
            self._fail("unknown-condition", name, f"no condition is named `{name}`{near}")
        if scope.after and not signature.state_only:
            self._fail(
                "past-after", tree, f"`{name}` looks at steps or at the past; `after` asks only of the world left"
            )
        if scope.lasting and not signature.state_only:
            self._fail(
                "step-in-while",
                tree,
                f"`{name}` looks at steps or at the past, and a `while` rule asks of no step; "
                f"ask `previously {name}(...)`",
            )
        given = _branches(tree)
        if len(given) != len(signature.parameters):
            wanted = ", ".join(f"{parameter} {kind}" for parameter, kind in signature.parameters)
            self._fail("wrong-arguments", tree, f"`{name}` takes ({wanted}); {len(given)} given")
        args: list[Term] = []
        for child, (parameter, kind) in zip(given, signature.parameters, strict=True):
            term, found = self._thing(child, scope)
            if not self.catalogue.is_a(found, kind):
                self._fail("wrong-arguments", child, f"`{name}` takes a {kind} as {parameter}; this is a {found}")
            args.append(term)
        return core.Call(str(name), tuple(args))

    def _quantified(self, tree: Branch, scope: Scope) -> Formula:
        word, binding, where_tree, body_tree = tree.children
        assert isinstance(binding, Tree)
        assert isinstance(body_tree, Tree)
        name, kind, inner = self._binding(binding, scope)
        where = self._formula(where_tree, inner) if isinstance(where_tree, Tree) else None
        body = self._formula(body_tree, inner)
        if word == "some":
            return core.Some(name, kind, where, body)
        if word == "no":
            return core.none(name, kind, where, body)
        return core.Each(name, kind, where, body)

    def _binding(self, tree: Branch, scope: Scope) -> tuple[str, Kind, Scope]:
        first, second = tree.children
        assert isinstance(first, Token)
        kind = self.kind(second if isinstance(second, Token) else first, self.phrase)
        name = self.new_name(first, scope, self.phrase)
        if scope.depth >= DEEPEST:
            self._fail(
                "too-deep", tree, f"a third quantifier within a quantifier; {DEEPEST} is the most, name a condition"
            )
        return name, kind, scope.bind(name, kind)

    def _did(self, words: list[Token | Branch], scope: Scope) -> core.Did:
        first = words[0]
        if not isinstance(first, Token):
            self._fail("unknown-step", first, "a kind of step should stand here")
        step = self.step(first, self.phrase)
        slots: list[tuple[str, Term]] = []
        for slot, node in slot_words(self, step, words[1:]):
            term, kind = self._thing(node, scope) if isinstance(node, Tree) else self._named_thing(node, node, scope)
            if not self._related(kind, slot.kind):
                self._fail("wrong-slot", node, f"`{step.name}` names a {slot.kind} here; this is a {kind}")
            slots.append((slot.name, term))
        order = {slot.name: at for at, slot in enumerate(step.slots)}
        return core.Did(step.name, tuple(sorted(slots, key=lambda entry: order[entry[0]])))

    def fail(self, code: str, node: Branch | Token, message: str) -> NoReturn:
        """Give up on the clause."""
        self._fail(code, node, message)

    # ---- terms ----

    def _thing(self, tree: Branch, scope: Scope) -> tuple[Term, Kind]:
        term, found = self._term(tree, scope)
        if found.sort == "word":
            self._unknown_name(tree, scope)
        if found.sort != "thing":
            self._fail("not-a-thing", tree, f"a thing should stand here; this is {self._says(found)}")
        return term, found.kind

    def _named_thing(self, token: Token, node: Branch | Token, scope: Scope) -> tuple[Term, Kind]:
        term, found = self._name(token, scope)
        if found.sort != "thing":
            self._unknown_name(node, scope)
        return term, found.kind

    def _unknown_name(self, node: Branch | Token, scope: Scope) -> NoReturn:
        word = str(node if isinstance(node, Token) else node.children[0])
        known = (*scope.names, *self.settings, PLAN, "it")
        self._fail("unknown-name", node, f"nothing here is named `{word}`{self._near(word, known)}")

    def _name(self, token: Token, scope: Scope) -> tuple[Term, Type]:
        name = str(token)
        if name in scope.names:
            return core.Var(name, scope.names[name]), Type("thing", scope.names[name])
        if name == PLAN:
            return core.Var(PLAN, PLAN), Type("thing", PLAN)
        if name in ("it", STEP):
            if scope.after:
                self._fail(
                    "step-after", token, f"`{name}` within `after`: the world after a step has no step of its own"
                )
            if scope.lasting:
                self._fail("step-in-while", token, f"`{name}` in a `while` rule, which asks of no step")
            return core.Var("it", STEP), Type("thing", STEP)
        setting = self.settings.get(name)
        if setting is not None:
            if isinstance(setting.value, core.Quantity):
                return core.Setting(name), Type("quantity", powers=dimensions.powers(setting.value.dimension))
            return core.Setting(name), Type("choice", words=frozenset(setting.choices))
        return core.Word(name), Type("word", words=frozenset((name,)))

    def _term(self, tree: Branch, scope: Scope) -> tuple[Term, Type]:
        match str(tree.data):
            case "name":
                token = tree.children[0]
                assert isinstance(token, Token)
                return self._name(token, scope)
            case "quantity":
                quantity = read_quantity(" ".join(str(child) for child in tree.children), self._span(tree))
                return quantity, Type("quantity", powers=dimensions.powers(quantity.dimension))
            case "of" | "of_to":
                name = tree.children[0]
                assert isinstance(name, Token)
                subject, subject_kind = self._thing(_branches(tree)[0], scope)
                other, other_kind = self._thing(_branches(tree)[1], scope) if tree.data == "of_to" else (None, None)
                fact = self._fact(name, subject_kind, other_kind, truth=False)
                return core.Of(fact.key, subject, other), self._returns(fact)
            case "negative":
                of, kind = self._quantity(_branches(tree)[0], scope)
                return core.Negative(of), kind
            case "count":
                binding, where_tree = tree.children
                assert isinstance(binding, Tree)
                name_, kind_, inner = self._binding(binding, scope)
                where = self._formula(where_tree, inner) if isinstance(where_tree, Tree) else None
                return core.Count(name_, kind_, where), Type("quantity")
            case _:
                return self._arithmetic(tree, scope)

    def _arithmetic(self, tree: Branch, scope: Scope) -> tuple[Term, Type]:
        sign = {"add": "+", "subtract": "-", "multiply": "*", "divide": "/"}[str(tree.data)]
        left_tree, right_tree = _branches(tree)
        left, left_type = self._quantity(left_tree, scope)
        right, right_type = self._quantity(right_tree, scope)
        if sign in "+-":
            if left_type.powers != right_type.powers:
                self._fail(
                    "unlike-dimensions", tree, f"`{sign}` between {self._says(left_type)} and {self._says(right_type)}"
                )
            return core.Arithmetic(sign, left, right), left_type
        powers = dimensions.product(left_type.powers, right_type.powers, 1 if sign == "*" else -1)
        return core.Arithmetic(sign, left, right), Type("quantity", powers=powers)

    def _quantity(self, tree: Branch, scope: Scope) -> tuple[Term, Type]:
        term, kind = self._term(tree, scope)
        if kind.sort == "word":
            self._unknown_name(tree, scope)
        if kind.sort != "quantity":
            self._fail("not-a-quantity", tree, f"a quantity should stand here; this is {self._says(kind)}")
        return term, kind

    def _returns(self, fact: Fact) -> Type:
        if not isinstance(fact.returns, str):
            return Type("choice", words=fact.returns)
        if fact.returns in self.catalogue.kinds and fact.returns not in self.catalogue.dimensions:
            return Type("thing", fact.returns)
        return Type("quantity", powers=dimensions.powers(fact.returns))

    def _fact(self, name: Token, subject: Kind, other: Kind | None, *, truth: bool) -> Fact:
        known = self.catalogue.named(str(name))
        if not known:
            names = sorted({fact.name for fact in self.catalogue.facts.values() if (fact.returns == TRUTH) == truth})
            self._fail("unknown-fact", name, f"no fact is named `{name}`{self._near(name, tuple(names))}")
        if (known[0].returns == TRUTH) != truth:
            self._fail("misread-fact", name, f"`{name}` is not read so; write `{known[0].reads()}`")
        found = self.catalogue.match(str(name), subject, other)
        if found is None:
            asked = subject + (f" and a {other}" if other is not None else " alone")
            offered = ", ".join(f"`{fact.reads()}`" for fact in known)
            self._fail("wrong-kinds", name, f"`{name}` cannot be asked of a {asked}; it is read {offered}")
        return found

    def _says(self, found: Type) -> str:
        match found.sort:
            case "thing":
                return f"a {found.kind}"
            case "quantity":
                return dimensions.name(found.powers)
            case _:
                return "a word"


_WORDS = {
    "since": "since", "response": "followed by", "response_before": "followed by", "once_within": "once", "at_least":
    "at least", "at_most": "at most", "exactly": "exactly", "previously": "previously", "once": "once", "always":
    "always", "earlier": "earlier", "never": "never", "finally_": "finally", "negation": "not", "after": "after",
    "quantified": "each, some, no", "conjunction": "and", "disjunction": "or",
}  # fmt: skip


def slot_words(checker: Checker, step: StepKind, words: list[Token | Branch]) -> list[tuple[Slot, Token | Branch]]:
    """Pair the words after a kind of step with its slots: a preposition leads its slot, a bare word is the object."""
    found: list[tuple[Slot, Token | Branch]] = []
    prepositions = [slot.preposition for slot in step.slots if slot.preposition is not None]
    at = 0
    while at < len(words):
        word = words[at]
        preposition = str(word) if isinstance(word, Token) and str(word) in prepositions else None
        if preposition is not None:
            at += 1
            if at == len(words):
                checker.fail("cut-short", words[-1], f"nothing stands after `{preposition}`")
        slot = step.slot(preposition)
        node = words[at]
        if slot is None or any(slot is used for used, _ in found):
            offered = " ".join(
                slot.name if slot.preposition is None else f"{slot.preposition} {slot.name}" for slot in step.slots
            )
            checker.fail("wrong-slot", node, f"`{step.name}` has no place for this; it is read `{step.name} {offered}`")
        found.append((slot, node))
        at += 1
    return found


def state_only(node: core.Node, signature: Callable[[str], Signature | None]) -> bool:
    """Whether a condition asks only of the world at a position, not of its step or of other positions."""
    if isinstance(node, (core.Did, core.Previously, core.Once, core.Always, core.Since, core.After, core.Finally)) or (
        isinstance(node, core.Var) and node.name == "it"
    ):
        return False
    if isinstance(node, core.Call):
        called = signature(node.name)
        if called is not None and not called.state_only:
            return False
    return all(state_only(child, signature) for child in core.children(node))


def _branches(tree: Branch) -> list[Branch]:
    return [child for child in tree.children if isinstance(child, Tree)]


def _branch(tree: Branch, at: int) -> Branch:
    child = tree.children[at]
    assert isinstance(child, Tree)
    return child

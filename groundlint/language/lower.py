"""From the parser's reductions straight to statements, without a tree between.

One `Lowering` serves one parser. The reader sets `source` and `base` before each statement and takes `problems` after it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import MISSING
from datetime import date
from typing import Any, NamedTuple

from lark import Token

from groundlint.language.nodes import NOWHERE, Amount, Date, Name, Node, Point, Size, Text, Word
from groundlint.language.statements import (
    Coordinate,
    End,
    Hop,
    Member,
    Param,
    Stage,
    Statement,
    Wire,
    clause_fields,
    statement_classes,
)
from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.values.units import UnitProblem, parse_quantity


class Clause(NamedTuple):
    """One part of a statement: the fields that it fills, and where it stands."""

    name: str
    values: dict[str, Any]
    span: Span


# Main spelling of a word that has several; a word not listed is its own main spelling, in lower case with single spaces.
MAIN_SPELLING: dict[str, dict[str, str]] = {
    "METAL": {"aluminium": "aluminum"},
    "MATERIAL": {},
    "ROLE": {"linesman": "lineman", "lineworker": "lineman", "groundworker": "groundman", "supervisor": "foreman"},
    "NEUTRAL_EARTHING": {
        "multi-grounded": "multigrounded",
        "multi-earthed": "multigrounded",
        "uni-grounded": "unigrounded",
        "single-earthed": "unigrounded",
    },
    "NEUTRAL_DUTY": {
        "carries fault": "carries the fault",
        "too small": "too small for the fault",
        "too small for fault": "too small for the fault",
    },
    "FEATURE": {"pole-ground": "pole ground", "pole earth": "pole ground", "pole-earth": "pole ground", "poles": "pole"}
    | {"tower": "steel", "earth": "ground"},
    "ACCESS": {"poles": "pole", "tower": "pole", "towers": "pole", "structure": "pole", "lift": "bucket", "platform": "bucket"},
    "SWITCH": {"disconnector": "disconnect", "cutout": "fuse"},
    "VEHICLE_BODY": {"bucket": "bucket truck", "platform": "lift"},
    "INSULATION": {"non-insulated": "uninsulated"},
    "SMALL_NEUTRAL": {"small-neutral": "small neutral", "small neutral alternative": "small neutral"}
    | {"small-neutral alternative": "small neutral"},
    "NO_CONTACT": {"no contact": "no contact possible", "no other contact": "no contact possible"}
    | {"no other contact possible": "no contact possible"},
    "BELOW_FEET": {"below the feet": "below feet"},
    "ABOVE_FEET": {"above the feet": "above feet"},
    "BELOW_OF": {"below": "below"},
    "GROUND": {"earth": "ground"},
    "POLE_WORD": {"poles": "pole", "tower": "pole", "towers": "pole", "structure": "pole", "structures": "pole", "lattice": "pole"},
    "SOURCE_SORT": {},
    "KIND": {
        "poles": "structure", "pole": "structure", "tower": "structure", "towers": "structure", "structures": "structure",
        "earth-rod": "rod", "earth-rods": "rod", "rods": "rod", "bars": "bar", "leads": "lead", "detectors": "detector",
        "testers": "tester", "sticks": "stick", "switches": "switch", "vehicles": "vehicle", "mats": "mat",
        "lineman": "person", "linemen": "person", "linesman": "person", "linesmen": "person", "worker": "person", "workers": "person",
        "people": "person", "phase": "conductor", "phases": "conductor", "conductors": "conductor",
    },
}  # fmt: skip

# Words that tell which tradition a plan is written in.
EARTH_WORDS = ("earth", "linesman", "voltage-indicator", "proving-unit", "permit", "operating-pole")


def main_spelling(token: Token) -> str:
    """The main spelling of a word out of a fixed choice."""
    plain = " ".join(token.lower().split())
    if token.type == "GRADE":
        return plain.upper()
    return MAIN_SPELLING.get(token.type, {}).get(plain, plain)


FLAG_CLAUSES = {
    "located": "located",
    "covered": "covered",
    "tagged": "tagged",
    "visible": "visible",
    "guyed": "guyed",
    "tag_it": "tag_it",
    "seen": "seen",
    "by_hand": "by_hand",
}
PAIRS = {"range", "between", "positive", "zero", "beside"}
DIMENSIONS_NESTED = {"hop": "length", "coordinate": "length"}


class Lowering:
    """Callbacks for every rule of the plan grammar; public only for `language.reader`."""

    def __init__(self, rules: Iterable[str]) -> None:
        """Callbacks for the rules named."""
        self.source: Source = NOWHERE.source
        self.base = 0
        self.problems: list[Diagnostic] = []
        classes = statement_classes()
        for rule in rules:
            callback: Callable[[list[Any]], Any] = getattr(self, f"_on_{rule}", None) or (
                self._statement_callback(classes[rule]) if rule in classes else self._clause_callback(rule)
            )
            setattr(self, rule, callback)

    # ------------------------------------------------------------- leaves
    def span(self, token: Token) -> Span:
        """Where a token stands in the source."""
        start = self.base + (token.start_pos or 0)
        return Span(self.source, start, start + len(token))

    def leaf(self, child: Any) -> Any:
        """A token as the node it stands for; anything else as it is."""
        if not isinstance(child, Token):
            return child
        span = self.span(child)
        match child.type:
            case "NAME" | "RANGE":
                return Name(str(child), span)
            case "STRING":
                return Text(child[1:-1], span)
            case "DATE":
                return self._date(child, span)
            case "NUMBER":
                return Name(str(child), span)
            case "WIRESIZE":
                return Size(" ".join(child.split()), span)
            case "QUANTITY":
                return self._quantity(child, span)
            case _:
                return Word(main_spelling(child), span)

    def _date(self, token: Token, span: Span) -> Date | None:
        try:
            date.fromisoformat(token)
        except ValueError:
            self.problem("bad-date", span, f"{token} is not a day in the calendar", "write a date as year-month-day, such as 2026-03-02")
            return None
        return Date(str(token), span)

    def _quantity(self, token: Token, span: Span) -> Amount | None:
        parsed = parse_quantity(str(token))
        if isinstance(parsed, UnitProblem):  # the terminal admits no such text today; a table that changes must not crash a review
            self.problem("unknown-unit", span, f"{token} is not a number with a known unit", "")
            return None
        return Amount(" ".join(token.split()), span)

    def problem(self, code: str, span: Span, message: str, mend: str = "") -> None:
        """Notes what is wrong with the statement being read; it counts as not read."""
        self.problems.append(Diagnostic(code, span, message, Severity.DANGER, mend, (), True))

    # ------------------------------------------------------------- parts
    def _on_amount(self, children: list[Token]) -> Amount | None:
        token = children[0]
        if token.type == "NAME":
            return Amount(f"given {token}", self.span(token))
        return self._quantity(token, self.span(token))

    def _on_point(self, children: list[Token]) -> Point:
        parts = [main_spelling(t) if t.type == "FEATURE" else str(t) for t in children]
        return Point(" ".join(parts), self.span(children[0]).to(self.span(children[-1])))

    def _on_point_word(self, children: list[Token]) -> Node:
        node: Node = self.leaf(children[0])
        return node

    def _on_points(self, children: list[Node]) -> Clause:
        return self._clause("points", children, {"points": tuple(children)})

    def _on_end(self, children: list[Any]) -> Clause:
        point, *means = children
        by = next((c.values["on_stick"] for c in means if "on_stick" in c.values), None)
        end = End(point, by, any("by_hand" in c.values for c in means))
        return Clause("end", {"ends": end}, point.span)

    _on_off = _on_end

    def _on_stand(self, children: list[Any]) -> Clause:
        token = children[0]
        word = main_spelling(token) if token.type != "NAME" else str(token)
        if token.type == "MATERIAL" and word != "steel":
            word = "pole"
        return Clause("stand", {"stand": Point(word, self.span(token))}, self.span(token))

    def _on_reaching(self, children: list[Any]) -> Clause:
        nodes = [self.leaf(c) for c in children]
        if len(nodes) == 1 and nodes[0] == "nothing" and isinstance(nodes[0], Word):
            return Clause("reaching", {"reaching": ()}, nodes[0].span)
        return self._clause("reaching", nodes, {"reaching": tuple(nodes)})

    def _on_height(self, children: list[Token]) -> Clause:
        word = Word(main_spelling(children[0]), self.span(children[0]))
        of = Name(str(children[1]), self.span(children[1])) if len(children) > 1 else None
        return Clause("height", {"height": word, "height_of": of}, word.span)

    def _on_from_pole(self, children: list[Any]) -> Clause:
        return self._clause("from_pole", children[:1], {"from_pole": children[0]})

    def _on_gap(self, children: list[Any]) -> Clause:
        return self._clause("gap", children, {"gap": children[0], "gap_from": children[1]})

    def _on_size(self, children: list[Token]) -> Clause:
        size, metal = self.leaf(children[0]), self.leaf(children[1]) if len(children) > 1 else None
        return Clause("size", {"size": size, "metal": metal}, size.span)

    def _on_material(self, children: list[Token]) -> Clause:
        return self._clause("material", [self.leaf(children[0])], {"material": self.leaf(children[0])})

    def _on_pole_ground(self, children: list[Any]) -> Clause:
        amount = children[1] if len(children) > 1 else None
        return Clause("pole_ground", {"pole_ground": True, "pole_ground_resistance": amount}, self.span(children[0]))

    def _on_footing(self, children: list[Any]) -> Clause:
        return self._clause("footing", children, {"footing": children[0] if children else None})

    def _on_live(self, children: list[Any]) -> Clause:
        return self._clause("live", children, {"live": children[0] if children else None})

    def _on_people(self, children: list[Token]) -> Clause:
        nodes = [self.leaf(c) for c in children]
        values: dict[str, Any] = {"all": True} if isinstance(nodes[0], Word) else {"people": tuple(nodes)}
        return self._clause("people", nodes, values)

    def _on_member(self, children: list[Token]) -> Clause:
        role, *rest = [self.leaf(c) for c in children]
        qualified = rest.pop() == "qualified" if isinstance(rest[-1], Word) else None
        return Clause("member", {"members": Member(role, tuple(rest), qualified)}, role.span)

    def _on_crew_name(self, children: list[Any]) -> Clause:
        return Clause("crew_name", {"crew_name": children[0].values["name"]}, children[0].span)

    def _on_wire(self, children: list[Token]) -> Clause:
        nodes = [self.leaf(c) for c in children]
        metal = nodes.pop() if isinstance(nodes[-1], Word) else None
        return Clause("wire", {"wires": Wire(tuple(nodes[:-1]), nodes[-1], metal)}, nodes[0].span)

    def _on_hop(self, children: list[Any]) -> Clause:
        structure = self.leaf(children[0])
        length = self.checked(children[1], "length") if len(children) > 1 else None
        return Clause("hop", {"hops": Hop(structure, length)}, structure.span)

    def _on_coordinate(self, children: list[Any]) -> Clause:
        conductor = self.leaf(children[0])
        across, height = self.checked(children[1], "length"), self.checked(children[2], "length")
        values: dict[str, Any] = {}
        if across is not None and height is not None:
            values["coordinates"] = Coordinate(conductor, across, height)
        return Clause("coordinate", values, conductor.span)

    def _on_param(self, children: list[Token]) -> Clause:
        sort, *names = [self.leaf(c) for c in children]
        return Clause("param", {"params": Param(sort, tuple(names))}, sort.span)

    def checked(self, amount: Amount | None, dimension: str) -> Amount | None:
        """The amount if it is of the dimension, or is left open; otherwise a problem."""
        if amount is None or amount.quantity is None or not dimension:
            return amount
        found = amount.quantity.dimension
        if found == dimension or (dimension == "time" and found == "cycles"):
            return amount
        self.problem(
            "wrong-dimension",
            amount.span,
            f"{amount} is {article(found)}; {article(dimension)} belongs here",
            f"write {article(dimension)}, such as {EXAMPLES.get(dimension, 'one with its unit')}",
        )
        return None

    def _on_stage(self, children: list[Token]) -> Statement:
        words = [self.leaf(c) for c in children]
        span = words[0].span.to(words[-1].span)
        return Stage(title=Text(" ".join(words), span)).placed(NOWHERE, {"title": span})

    # ------------------------------------------------------------- clauses
    def _clause(self, name: str, nodes: list[Any], values: dict[str, Any]) -> Clause:
        spans = [n.span for n in nodes if isinstance(n, Node)]
        return Clause(name, values, spans[0].to(spans[-1]) if spans else NOWHERE)

    def _clause_callback(self, rule: str) -> Callable[[list[Any]], Clause]:
        if rule in FLAG_CLAUSES:
            field_name = FLAG_CLAUSES[rule]
            return lambda children: Clause(rule, {field_name: True}, self.span(children[0]))

        def callback(children: list[Any]) -> Clause:
            nodes = [self.leaf(c) for c in children]
            many = rule in PAIRS or rule in ("names", "subjects")
            value = tuple(nodes) if many else nodes[0] if nodes else True
            return self._clause(rule, nodes, {rule: value})

        return callback

    # ------------------------------------------------------------- statements
    def _on_start(self, children: list[Any]) -> Any:
        """The statement itself."""
        return children[0]

    def _statement_callback(self, cls: type[Statement]) -> Callable[[list[Any]], Statement | None]:
        by_clause = clause_fields(cls)
        by_name = {f.name: f for f in by_clause.values()}
        positional = POSITIONAL.get(str(cls.kind), ())  # type: ignore[attr-defined]

        def callback(children: list[Any]) -> Statement | None:
            values: dict[str, Any] = {}
            places: dict[str, Span] = {}
            position = 0
            for child in children:
                if isinstance(child, Clause):
                    clause = child
                else:
                    node = self.leaf(child)
                    if node is None:
                        position += 1
                        continue
                    if position >= len(positional):  # a keyword that carries no field of its own, `no other source`
                        continue
                    name = positional[position]
                    position += 1
                    clause = Clause(name, {name: node}, node.span)
                for key, value in clause.values.items():
                    field_key = by_clause[key].name if key in by_clause else key
                    field = by_name[field_key]
                    if value is None:
                        continue
                    if field.metadata["many"]:
                        values[field_key] = (*values.get(field_key, ()), value)
                    elif field_key in values:
                        self.problem(
                            "said-twice", clause.span, f"{field_key.replace('_', ' ').strip()} is said twice in this statement", "keep one"
                        )
                        continue
                    else:
                        values[field_key] = self._fit(value, field.metadata["dimension"])
                    places.setdefault(field_key, clause.span)
            return self._build(cls, values, places)

        return callback

    def _fit(self, value: Any, dimension: str) -> Any:
        if isinstance(value, Amount):
            return self.checked(value, dimension)
        if isinstance(value, tuple) and dimension:
            return tuple(v for v in (self.checked(v, dimension) for v in value) if v is not None)
        return value

    def _build(self, cls: type[Statement], values: dict[str, Any], places: dict[str, Span]) -> Statement | None:
        values = {key: value for key, value in values.items() if value is not None}
        lacking = [
            f.name
            for f in clause_fields(cls).values()
            if f.default is MISSING and f.default_factory is MISSING and f.name not in values
        ]
        if lacking:  # only where a part was refused above; the problem is already noted
            return None
        return cls(**values).placed(NOWHERE, places)


# Names of the fields that a statement's bare parts fill, in order.
POSITIONAL: dict[str, tuple[str, ...]] = {
    "method": ("method",),
    "soil": ("amount",),
    "surface": ("amount",),
    "voltage": ("amount",),
    "frequency": ("amount",),
    "altitude": ("amount",),
    "current": ("amount",),
    "power": ("amount",),
    "clears": ("amount",),
    "switch": ("sort",),
    "bond": ("first", "second"),
    "bond_across": ("point",),
    "unbond": ("point",),
    "lift": ("point",),
    "restore": ("point",),
    "gloves": ("state",),
    "reclosing": ("state",),
    "wait": ("amount",),
    "undo": ("at",),
}

EXAMPLES = {
    "length": "25 ft",
    "current": "6.8 kA",
    "voltage": "12.47 kV",
    "resistance": "25 ohm",
    "resistivity": "120 ohm m",
    "time": "24 cycles",
    "frequency": "60 Hz",
    "power": "150 MVA",
}


def article(dimension: str) -> str:
    """``a length``, ``an area``; cycles are a time told in cycles."""
    name = {"cycles": "time in cycles"}.get(dimension, dimension)
    return ("an " if name[0] in "aeiou" else "a ") + name

"""From the parser's reductions straight to statements, without a tree between.

One `Lowering` serves one parser. The reader sets `source`, `base` and `beside` before each statement and takes
`problems` after it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import MISSING
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

from groundlint.language.nodes import NOWHERE, Amount, At, Date, Name, Node, Point, Size, Text, Word
from groundlint.language.statements import (
    Away,
    Coordinate,
    End,
    Hop,
    Member,
    Param,
    Rod,
    Stage,
    Statement,
    Wire,
    clause_fields,
    statement_classes,
)
from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.values.units import UnitProblem, parse_quantity
from groundlint.values.wire import STRANDED, parse_wire


class Clause(NamedTuple):
    """One part of a statement: the fields that it fills, and where it stands."""

    name: str
    values: dict[str, Any]
    span: Span


_SWITCHES: dict[str, tuple[str, ...]] = {
    "switch": (
        "switches",
        *(
            f"{sort} {word}"
            for sort in ("tie", "gang", "gang-operated", "air-break", "load-break", "oil", "by-pass", "bypass")
            for word in ("switch", "switches")
        ),
    ),
    "disconnect": (
        *("disconnects", "disconnector", "disconnectors", "isolator", "isolators"),
        *(f"{one} {word}" for one in ("disconnect", "disconnects") for word in ("switch", "switches")),
    ),
    "breaker": tuple(
        f"{sort}{word}"
        for sort in ("", "oil ", "vacuum ", "gas ", "sf6 ", "air-blast ")
        for word in ("breaker", "breakers", "circuit breaker", "circuit breakers")
        if sort or word != "breaker"
    ),
    "recloser": tuple(
        f"{sort}{word}"
        for sort in ("", "oil ", "vacuum ", "hydraulic ", "electronic ")
        for word in ("recloser", "reclosers")
        if sort or word != "recloser"
    ),
    "fuse": (
        "fuses",
        *(f"{sort}{word}" for sort in ("", "fuse ", "fused ") for word in ("cutout", "cutouts")),
    ),
    **{one: (f"{one}s",) for one in ("jumper", "elbow", "network protector", "open point", "tap")},
}
# Main spelling of a word that has several; a word not listed is its own main spelling, in lower case with single
# spaces.
MAIN_SPELLING: dict[str, dict[str, str]] = {
    "METAL": {
        "aluminium": "aluminum",
        "al": "aluminum",
        "cu": "copper",
        "al/st": "acsr",
        "aluminium-clad steel": "aluminum-clad steel",
        "aluminium clad steel": "aluminum-clad steel",
        "aluminum clad steel": "aluminum-clad steel",
        "galvanized steel": "steel",
        "galvanised steel": "steel",
        "zinc-coated steel": "steel",
        "ehs steel": "steel",
        "hs steel": "steel",
    },
    "ROLE": {
        "linesman": "lineman",
        "lineworker": "lineman",
        "groundworker": "groundman",
        "groundsman": "groundman",
        "groundsmen": "groundman",
        "supervisor": "foreman",
        "linemen": "lineman",
        "linesmen": "lineman",
        "lineworkers": "lineman",
        "groundmen": "groundman",
        "groundworkers": "groundman",
        "foremen": "foreman",
        "supervisors": "foreman",
        "apprentices": "apprentice",
        "operators": "operator",
        "observers": "observer",
    },
    "ALLOY": {"aluminium": "aluminum"},
    "NEUTRAL_EARTHING": {
        "multi-grounded": "multigrounded",
        "multi-earthed": "multigrounded",
        "uni-grounded": "unigrounded",
        "single-earthed": "unigrounded",
    },
    "SYSTEM": {"unearthed": "ungrounded", "isolated": "ungrounded"},
    "NEUTRAL_DUTY": {
        "carries fault": "carries the fault",
        "too small": "too small for the fault",
        "too small for fault": "too small for the fault",
    },
    "FEATURE": {
        "pole-ground": "pole ground",
        "pole earth": "pole ground",
        "pole-earth": "pole ground",
        "poles": "pole",
        "tower": "steel",
        "earth": "ground",
    },
    "ACCESS": {
        "poles": "pole",
        "tower": "pole",
        "towers": "pole",
        "structure": "pole",
        "lift": "bucket",
        "platform": "bucket",
    },
    "SWITCH": {spelling: sort for sort, words in _SWITCHES.items() for spelling in words},
    "MATERIAL": {"wooden": "wood", "lattice": "steel", "steel lattice": "steel", "lattice steel": "steel"},
    "VEHICLE_BODY": {"bucket": "bucket truck", "platform": "lift"},
    "INSULATION": {"non-insulated": "uninsulated"},
    "SMALL_NEUTRAL": {
        "small-neutral": "small neutral",
        "small neutral alternative": "small neutral",
        "small-neutral alternative": "small neutral",
    },
    "NO_CONTACT": {
        "no contact": "no contact possible",
        "no other contact": "no contact possible",
        "no other contact possible": "no contact possible",
    },
    "BARE": {"uncovered": "bare"},
    "IMPROVISED": {"without detector": "improvised"},
    "CERTIFIED": {"earths": "grounds"},
    "PAUSE_SPELL": {"for the weather": "for weather", "for bad weather": "for weather"},
    "OPERATOR_TOLD": {"system operator told": "operator told"},
    "BELOW_FEET": {"below the feet": "below feet"},
    "ABOVE_FEET": {"above the feet": "above feet"},
    "GROUND": {"earth": "ground"},
    "POLE_WORD": {
        "poles": "pole",
        "tower": "pole",
        "towers": "pole",
        "structure": "pole",
        "structures": "pole",
        "h-frame": "pole",
        "h-frames": "pole",
        "h frame": "pole",
        "h frames": "pole",
        "monopole": "pole",
        "monopoles": "pole",
    },
    "RUBBER": {
        spelling: f"rubber {kind}" if kind != "rigid cover" else kind
        for kind, words in {
            "gloves": ("glove", "gloves"),
            "sleeves": ("sleeve", "sleeves"),
            "blanket": ("blanket", "blankets"),
            "line hose": ("hose", "hoses", "line hose", "line hoses"),
            "cover": ("cover", "covers", "hood", "hoods"),
            "rigid cover": ("rigid cover", "rigid covers"),
        }.items()
        for word in words
        for spelling in ((word,) if kind == "rigid cover" else (f"rubber {word}", f"insulating {word}"))
    },
    "DEAD_END": {"dead-end": "dead end"},
    "KIND": {
        "poles": "structure",
        "pole": "structure",
        "tower": "structure",
        "towers": "structure",
        "structures": "structure",
        "earth-rod": "rod",
        "earth-rods": "rod",
        "ground-rod": "rod",
        "ground-rods": "rod",
        "rods": "rod",
        "cluster-bar": "bar",
        "cluster-bars": "bar",
        "bars": "bar",
        "earthing-lead": "lead",
        "earthing-leads": "lead",
        "leads": "lead",
        "voltage-indicator": "detector",
        "voltage-indicators": "detector",
        "detectors": "detector",
        "proving-unit": "tester",
        "proving-units": "tester",
        "testers": "tester",
        "operating-pole": "stick",
        "operating-poles": "stick",
        "sticks": "stick",
        "switches": "switch",
        "capacitors": "capacitor",
        "cables": "cable",
        "vehicles": "vehicle",
        "mats": "mat",
        "worker": "person",
        "workers": "person",
        "people": "person",
        "phase": "conductor",
        "phases": "conductor",
        "conductors": "conductor",
        "sources": "source",
    },
}

FORMS = frozenset({"stranded", "solid", "bus"})


def _part_of_wire(word: Word) -> str:
    """Which part of a wire a word says."""
    if word[0].isdigit():
        return "bundle" if word.isdecimal() else "stranding"
    return "form" if word in FORMS else "metal"


"""What a conductor can be made as."""
PARAMETER_KINDS = frozenset(MAIN_SPELLING["KIND"].values())
"""What a routine's parameters can be."""


@lru_cache(maxsize=4096)
def main_spelling(terminal: str, text: str) -> str:
    """The main spelling of a word out of a fixed choice."""
    plain = " ".join(text.lower().split())
    if terminal == "GRADE":
        return plain.upper()
    return MAIN_SPELLING.get(terminal, {}).get(plain, plain)


FLAG_CLAUSES = {
    "located": "located",
    "covered": "covered",
    "bare": "bare",
    "improvised": "improvised",
    "stays_open": "stays_open",
    "tagged": "tagged",
    "locked": "locked",
    "no_lock": "no_lock",
    "control_stays": "control_stays",
    "trips_open": "trips_open",
    "tools_to_close": "tools_to_close",
    "override_blocked": "override_blocked",
    "override_procedure": "override_procedure",
    "lock_it": "lock_it",
    "in_sight": "in_sight",
    "in_reach": "in_reach",
    "one_crew": "one_crew",
    "visible": "visible",
    "hidden": "hidden",
    "guyed": "guyed",
    "dead_end": "dead_end",
    "on_insulators": "on_insulators",
    "tag_it": "tag_it",
    "seen": "seen",
    "operator_told": "operator_told",
    "crew_told": "crew_told",
    "by_hand": "by_hand",
    "never": "never",
}
PAIRS = {"range", "rated", "between", "positive", "zero", "beside", "terminals"}


class Lowering:
    """Callbacks for every rule of the plan grammar; public only for `language.reader`."""

    def __init__(self, rules: Iterable[str]) -> None:
        """Callbacks for the rules named."""
        self.source: Source = NOWHERE.source
        self.base = 0
        self.beside: dict[str, Any] = {}
        self.problems: list[Diagnostic] = []
        self.callbacks: dict[str, Callable[[list[Any]], Any]] = {}
        classes = statement_classes()
        self._verify = self._statement_callback(classes["verify"])
        for rule in rules:
            callback: Callable[[list[Any]], Any] = getattr(self, f"_on_{rule}", None) or (
                self._statement_callback(classes[rule]) if rule in classes else self._clause_callback(rule)
            )
            self.callbacks[rule] = callback

    # ------------------------------------------------------------- leaves
    def leaf(self, terminal: str, text: str, start: int) -> Node | None:
        """The node that a token stands for; None where it can't be taken, the problem being noted."""
        start += self.base
        at = (self.source, start, start + len(text))
        match terminal:
            case "NAME" | "RANGE" | "NUMBER":
                return Name.at(text, at)
            case "STRING":
                if text == '""' or text.isspace() or not text[1:-1].strip():
                    self.problem("empty-text", Span(*at), "this text is empty", "write the words between the quotes")
                    return None
                return Text.at(text[1:-1], at)
            case "DATE":
                return self._date(text, at)
            case "WIRESIZE":
                return self._size(text, at)
            case "BUNDLE":
                return Word.at(text.rstrip("xX× \t"), at)
            case "STRANDING":
                return Word.at(text if "/" in text else f"{int(text.lower().split('strand')[0])} strands", at)
            case "QUANTITY":
                return self._quantity(text, at)
            case _:
                return Word.at(main_spelling(terminal, text), at)

    def _date(self, text: str, at: At) -> Date | None:
        try:
            date.fromisoformat(text)
        except ValueError:
            mend = "write a date as year-month-day, such as 2026-03-02"
            self.problem("bad-date", Span(*at), f"{text} is not a day in the calendar", mend)
            return None
        return Date.at(text, at)

    def _size(self, text: str, at: At) -> Size | None:
        parsed = parse_wire(text)
        if isinstance(parsed, UnitProblem):
            self.problem(
                "bad-size", Span(*at), parsed.message, "write a size such as 2/0, 2 AWG, 336.4 kcmil or 95 mm2"
            )
            return None
        return Size.at(" ".join(text.split()), at)

    def _quantity(self, text: str, at: At) -> Amount | None:
        parsed = parse_quantity(text)
        if isinstance(parsed, UnitProblem):
            self.problem(
                "bad-number", Span(*at), parsed.message, "write the number as it would be read off an instrument"
            )
            return None
        return Amount.read(" ".join(text.split()), parsed, at)

    def problem(self, code: str, span: Span, message: str, mend: str = "") -> None:
        """Notes what is wrong with the statement being read; it counts as not read."""
        self.problems.append(Diagnostic(code, span, message, Severity.DANGER, mend, (), True))

    # ------------------------------------------------------------- parts
    def _on_amount(self, children: list[Node]) -> Node:
        node = children[0]
        if isinstance(node, Name):
            return Amount.read(f"given {node}", None, node.place)
        return node

    def _on_point(self, children: list[Node]) -> Point:
        source, start, _ = children[0].place
        return Point.at(" ".join(children), (source, start, children[-1].place[2]))

    def _on_point_word(self, children: list[Node]) -> Node:
        return children[0]

    def _on_points(self, children: list[Node]) -> Clause:
        return self._clause("points", children, {"points": tuple(children)})

    def _on_filler(self, children: list[Node]) -> Node:
        return children[0]

    def _on_filled(self, children: list[Node]) -> Clause:
        return self._clause("names", children, {"names": tuple(children)})

    def _on_end(self, children: list[Any]) -> Clause:
        point, *means = children
        by = next((c.values["on_stick"] for c in means if "on_stick" in c.values), None)
        end = End(point, by, any("by_hand" in c.values for c in means))
        end.placed(point.span.to(means[-1].span) if means else point.span)
        return Clause("end", {"ends": end}, point.span)

    _on_off = _on_then_end = _on_then_off = _on_end

    def _on_end_stick(self, children: list[Node]) -> Clause:
        return self._clause("on_stick", children, {"on_stick": children[0]})

    def _on_transferred(self, children: list[Node]) -> Clause:
        return Clause("state", {"state": children[0]}, children[0].span)

    def _on_stand(self, children: list[Node]) -> Clause:
        node = children[0]
        word = "pole" if isinstance(node, Word) and node in ("wood", "concrete") else str(node)
        return Clause("stand", {"stand": Point.at(word, node.place)}, node.span)

    def _on_reaching(self, children: list[Node]) -> Clause:
        if len(children) == 1 and children[0] == "nothing" and isinstance(children[0], Word):
            return Clause("reaching", {"reaching": ()}, children[0].span)
        return self._clause("reaching", children, {"reaching": tuple(children)})

    def _on_wire_touching(self, children: list[Node]) -> Clause:
        return Clause("touching", {"touching": self._on_reaching(children).values["reaching"]}, children[0].span)

    def _on_doers(self, children: list[Node]) -> Clause:
        return self._clause("by", children, {"by": tuple(children)})

    def _on_touching(self, children: list[Node]) -> Clause:
        return self._clause("touching", children, {"touching": tuple(children)})

    def _on_held(self, children: list[Node]) -> Clause:
        return self._clause("held", children, {"held": True, "by": children[0] if children else None})

    def _on_height(self, children: list[Node]) -> Clause:
        word, of = children[0], children[1] if len(children) > 1 else None
        return Clause("height", {"height": word, "height_of": of}, word.span)

    def _on_from_pole(self, children: list[Any]) -> Clause:
        return self._clause("from_pole", children[:1], {"from_pole": children[0]})

    def _on_from_rod(self, children: list[Any]) -> Clause:
        distance = self.checked(children[0], "length")
        away = Away(distance, children[1]) if distance is not None else None
        return self._clause("from_rod", children, {"from_rod": away})

    def _on_away(self, children: list[Any]) -> Clause:
        return self._clause("away", children, {"away": children[0], "away_from": children[1]})

    def _on_gap(self, children: list[Any]) -> Clause:
        return self._clause("gap", children, {"gap": children[0], "gap_from": children[1]})

    def _on_size(self, children: list[Node]) -> Clause:
        metal = children[1] if len(children) > 1 else None
        return Clause("size", {"size": children[0], "metal": metal}, children[0].span)

    def _on_clamps(self, children: list[Node]) -> Clause:
        sort = children[0] if isinstance(children[0], Name) else None
        grade = children[-1] if isinstance(children[-1], Word) else None
        return self._clause("clamps", children, {"clamps": sort, "clamps_grade": grade})

    def _on_fit(self, children: list[Node]) -> Clause:
        kind = "fit_size" if isinstance(children[0], Size) else "fit_across"
        return self._clause("fit", children, {kind: tuple(children)})

    def _on_material(self, children: list[Node]) -> Clause:
        return self._clause("material", children[:1], {"material": children[0]})

    def _on_pole_ground(self, children: list[Node]) -> Clause:
        amount = children[1] if len(children) > 1 else None
        return Clause("pole_ground", {"pole_ground": True, "pole_ground_resistance": amount}, children[0].span)

    def _on_footing(self, children: list[Any]) -> Clause:
        return self._clause("footing", children, {"footing": children[0] if children else None})

    def _on_live(self, children: list[Any]) -> Clause:
        return self._clause("live", children, {"live": children[0] if children else None})

    def _on_people(self, children: list[Node]) -> Clause:
        values: dict[str, Any] = {"all": True} if isinstance(children[0], Word) else {"people": tuple(children)}
        return self._clause("people", children, values)

    def _on_member(self, children: list[Any]) -> Clause:
        role, *rest = children
        qualified = rest.pop() == "qualified" if isinstance(rest[-1], Word) else None
        return Clause("member", {"members": Member(role, tuple(rest), qualified)}, role.span)

    def _on_crew_name(self, children: list[Any]) -> Clause:
        charge = {"under": children[1]} if len(children) > 1 and children[1] is not None else {}
        return Clause("crew_name", {"crew_name": children[0], **charge}, children[0].span)

    def _on_wire(self, children: list[Any]) -> Clause:
        said: dict[str, Any] = {}
        for node in children:
            match node:
                case Clause(values=values, span=span):
                    if twice := said.keys() & values.keys():
                        self.problem("said-twice", span, f"{min(twice)} is said twice of one wire", "keep one")
                    said |= values
                case Size():
                    said["size"] = node
                case Word() if node in ("wood", "concrete"):
                    self.problem(
                        "unexpected-word", node.span, f"no wire is of {node}", "write its metal, such as `acsr`"
                    )
                case Word():
                    said[_part_of_wire(node)] = node
        form, metal = said.get("form"), said.get("metal")
        strands = metal if metal in STRANDED else said.get("stranding")
        if form is not None and form != "stranded" and strands is not None:
            self.problem("contradiction", form.span, f"{strands} is stranded, and not {form}", "take one of them out")
            return Clause("wire", {}, children[0].span)
        names = tuple(node for node in children if isinstance(node, Name))
        return Clause("wire", {"wires": Wire(names, **said)}, children[0].span)

    def _on_diameter(self, children: list[Amount]) -> Clause:
        amount = children[0]
        if amount.quantity is not None and amount.quantity.dimension == "resistance-per-length":
            message, mend = f"{amount} is at a temperature", f"say at which, such as `{amount} at 50 C`"
            self.problem("cut-short", amount.span, message, mend)
            return Clause("diameter", {}, amount.span)
        return self._clause("diameter", children, {"diameter": self.checked(amount, "length")})

    def _on_ohms(self, children: list[Amount]) -> Clause:
        resistance, at = self.checked(children[0], "resistance-per-length"), self.checked(children[1], "temperature")
        return self._clause("ohms", children, {"resistance": resistance, "at": at})

    def _on_gmr(self, children: list[Amount]) -> Clause:
        return self._clause("gmr", children, {"gmr": self.checked(children[0], "length")})

    def _on_apart(self, children: list[Amount]) -> Clause:
        return self._clause("apart", children, {"apart": self.checked(children[0], "length")})

    def _on_hop(self, children: list[Any]) -> Clause:
        length = self.checked(children[1], "length") if len(children) > 1 else None
        return Clause("hop", {"hops": Hop(children[0], length)}, children[0].span)

    def _on_vaults(self, children: list[Any]) -> Clause:
        hops = tuple(clause.values["hops"] for clause in children)
        return Clause("vaults", {"vaults": hops}, children[0].span.to(children[-1].span))

    def _on_coordinate(self, children: list[Any]) -> Clause:
        conductor = children[0]
        across, height = self.checked(children[1], "length", signed=True), self.checked(children[2], "length")
        values: dict[str, Any] = {}
        if across is not None and height is not None:
            values["coordinates"] = Coordinate(conductor, across, height)
        return Clause("coordinate", values, conductor.span)

    def _on_param(self, children: list[Any]) -> Clause:
        sort, *names = children
        if sort not in PARAMETER_KINDS:  # a role of the crew: the routine takes any person
            sort = Word.at("person", sort.place)
        return Clause("param", {"params": Param(sort, tuple(names))}, sort.span)

    def checked(self, amount: Amount | None, dimension: str, *, signed: bool = False) -> Amount | None:
        """The amount if it is of the dimension, or is left open; otherwise a problem."""
        if amount is None or amount.quantity is None or not dimension:
            return amount
        found = amount.quantity.dimension
        if found != dimension and not (dimension == "time" and found == "cycles"):
            self.problem(
                "wrong-dimension",
                amount.span,
                f"{amount} is {article(found)}; {article(dimension)} belongs here",
                f"write {article(dimension)}, such as {EXAMPLES.get(dimension, 'one with its unit')}",
            )
            return None
        if amount.quantity.si < 0 and not signed:
            self.problem(
                "negative-amount",
                amount.span,
                f"{amount} is below zero; {article(dimension)} here can't be",
                "take the sign off",
            )
            return None
        return amount

    def _on_verify(self, children: list[Any]) -> Statement | None:
        said_open = [at for at in (0, -1) if isinstance(children[at], Word)]
        if said_open:
            word = children.pop(said_open[0])
            if word != "open":
                self.problem(
                    "unexpected-word",
                    word.span,
                    f"`{word}` can't stand here; `open` could",
                    "a switch is verified to be open",
                )
                return None
        said: Statement | None = self._verify(children)
        return said

    def _on_until_text(self, children: list[Text]) -> Clause:
        """`hold until "the foreman agrees"`, which says the same as `hold "until the foreman agrees"`."""
        said = children[0]
        words = said if said.lower().startswith("until ") else Text(f"until {said}", said.span)
        return Clause("text", {"text": words}, said.span)

    def _on_stage(self, children: list[Node]) -> Statement:
        span = children[0].span.to(children[-1].span)
        title = children[0] if isinstance(children[0], Text) else Text(" ".join(children), span)
        return Stage(title=title, **self.beside).placed(NOWHERE, {"title": span})

    # ------------------------------------------------------------- clauses
    def _clause(self, name: str, nodes: list[Any], values: dict[str, Any]) -> Clause:
        if not nodes:
            return Clause(name, values, Span(self.source, self.base, self.base))
        source, start, _ = nodes[0].place
        return Clause(name, values, Span(source, start, nodes[-1].place[2]))

    def _clause_callback(self, rule: str) -> Callable[[list[Any]], Any]:
        if rule in FLAG_CLAUSES:
            field_name = FLAG_CLAUSES[rule]
            return lambda children: Clause(rule, {field_name: True}, children[0].span)
        many = rule in PAIRS or rule in ("names", "subjects", "goods")

        def callback(children: list[Any]) -> Clause:
            value = tuple(children) if many else children[0] if children else True
            return self._clause(rule, children, {rule: value})

        return callback

    # ------------------------------------------------------------- statements
    def _on_start(self, children: list[Any]) -> Any:
        """The statement itself."""
        return children[0]

    def _statement_callback(self, cls: type[Statement]) -> Callable[[list[Any]], Statement | None]:
        by_clause = clause_fields(cls)  # type: ignore[arg-type]
        by_name = {f.name: f for f in by_clause.values()}
        rows = {
            key: (f.name, bool(f.metadata["many"]), str(f.metadata["dimension"]))
            for key, f in (by_name | by_clause).items()
        }
        needed = [f.name for f in by_name.values() if f.default is MISSING and f.default_factory is MISSING]
        positional = POSITIONAL.get(str(cls.kind), ())  # type: ignore[attr-defined]

        def callback(children: list[Any]) -> Statement | None:
            values: dict[str, Any] = dict(self.beside)
            places: dict[str, Span] = {}
            position = 0
            for child in children:
                if isinstance(child, Clause):
                    said, span = child.values, child.span
                elif position < len(positional):
                    said, span = {positional[position]: child}, child.span
                    position += 1
                else:  # a keyword that carries no field of its own, `no other source`
                    continue
                for key, value in said.items():
                    if value is None:
                        continue
                    field_key, many, dimension = rows[key]
                    if many:
                        values[field_key] = (*values.get(field_key, ()), value)
                    elif field_key in values:
                        words = field_key.replace("_", " ").strip()
                        self.problem("said-twice", span, f"{words} is said twice in this statement", "keep one")
                        continue
                    else:
                        values[field_key] = self._fit(value, dimension) if dimension else value
                    places.setdefault(field_key, span)
            return self._build(cls, values, places, needed)

        return callback

    def _fit(self, value: Any, dimension: str) -> Any:
        if isinstance(value, Amount):
            return self.checked(value, dimension)
        if isinstance(value, tuple):
            return tuple(v for v in (self.checked(v, dimension) for v in value) if v is not None)
        return value

    def _build(
        self, cls: type[Statement], values: dict[str, Any], places: dict[str, Span], needed: list[str]
    ) -> Statement | None:
        if self.problems:  # a part that was refused is not known
            values = {key: value for key, value in values.items() if value is not None}
        if cls is Rod:
            _put_in_order(values, places)
        for name in needed:
            if name not in values:  # only where a part was refused above; the problem is already noted
                return None
        return cls(**values).placed(NOWHERE, places)


def _put_in_order(values: dict[str, Any], places: dict[str, Span]) -> None:
    """The length of a rod and its diameter, whichever is stated first: none is thicker than it is long."""
    length, across = (getattr(values.get(name), "quantity", None) for name in ("length", "across"))
    if length is not None and across is not None and length.si < across.si:
        for found in (values, places):
            found["length"], found["across"] = found["across"], found["length"]


# Names of the fields that a statement's bare parts fill, in order.
POSITIONAL: dict[str, tuple[str, ...]] = {
    "method": ("method",),
    "soil": ("amount",),
    "surface": ("amount",),
    "measured": ("amount",),
    "voltage": ("amount",),
    "frequency": ("amount",),
    "altitude": ("amount",),
    "approach": ("amount",),
    "current": ("amount",),
    "residual": ("amount",),
    "power": ("amount",),
    "clears": ("amount",),
    "switch": ("sort",),
    "rubber": ("sort",),
    "bond": ("first", "second"),
    "bond_across": ("point",),
    "unbond": ("point",),
    "lift": ("point",),
    "restore": ("point",),
    "gloves": ("state",),
    "reclosing": ("state",),
    "grounding": ("system",),
    "wait": ("amount",),
    "pause": ("amount",),
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
    "resistance-per-length": "0.117 ohm/mi",
    "temperature": "50 C",
}


def article(dimension: str) -> str:
    """``a length``, ``an area``; cycles are a time stated in cycles."""
    name = {"cycles": "time in cycles", "resistance-per-length": "resistance per length"}.get(dimension, dimension)
    return ("an " if name[0] in "aeiou" else "a ") + name

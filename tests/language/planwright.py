"""Strategies for statements of every kind that the text can say, made from the models."""

from __future__ import annotations

import dataclasses
import typing
from typing import Any

from hypothesis import strategies as st

from groundlint.language import statements as s
from groundlint.language.nodes import FEATURES, Amount, Date, Name, Point, Size, Text, Word

NAMES = st.one_of(
    st.sampled_from(["A1", "B2", "Ka_3", "G12", "R7-12", "SW41.2", "Hx9", "L1", "T4"]),
    st.sampled_from(["211", "212", "213", "Æ1", "线1", "Straße-2", "G1..G5", "211..219", "_a1", "x1", "and1"]),
).map(Name)
SINGLE = NAMES.filter(lambda name: ".." not in name)
PLAIN = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"), exclude_characters='"'), min_size=1, max_size=20
)
TEXTS = PLAIN.filter(lambda text: text.strip() != "").map(Text)
COMMENTS = PLAIN.map(str.strip).filter(bool)
DATES = st.dates().map(lambda day: Date(day.isoformat()))
SIZES = st.sampled_from(["2/0", "4/0", "2 AWG", "#2", "336.4 kcmil", "95 mm2"]).map(Size)
AMOUNTS = {
    "length": ["25 ft", "7.5 m", "6 ft 4 in", "0.3 m", "given reach1"],
    "voltage": ["12.47 kV", "400 V", "given v1"],
    "current": ["6.8 kA", "400 A", "given i1"],
    "resistance": ["25 ohm", "0.5 ohm", "given r1"],
    "resistivity": ["120 ohm m", "given rho1"],
    "time": ["24 cycles", "0.5 s", "5 min", "given t1"],
    "frequency": ["60 Hz"],
    "power": ["150 MVA"],
    "resistance-per-length": ["0.117 ohm/mi", "0.073 ohm/km", "given z1"],
    "temperature": ["50 C", "167 F", "given t1"],
}
POINT_WORDS = st.one_of(NAMES, st.sampled_from([word for word in FEATURES if word not in {"pole", "feet"}]).map(Word))
WORDS = {
    ("Method", "method"): "single-point|dual-point|worksite",
    ("Method", "variant"): "small neutral",
    ("Method", "access"): "pole|bucket|steel",
    ("Begins", "height"): "below feet|above feet|below|above",
    ("NoGrounds", "conditions"): "no contact possible|no induction|impracticable|more hazardous",
    ("SourceDecl", "sort"): "utility|tie|customer generation|transformer backfeed|possible backfeed",
    ("Switch", "sort"): "switch|disconnect|breaker|recloser|fuse|jumper|elbow|open point|tap|network protector",
    ("Switch", "position"): "open|closed|normally open|normally closed",
    ("Switch", "control"): "remote|automatic|manual",
    ("Switch", "reach"): "out of public reach|within public reach",
    ("Cable", "transfer"): "transfer of potential possible|transfer of potential not possible",
    ("Structure", "material"): "wood|steel|concrete",
    ("Lead", "metal"): "copper|aluminum|acsr|aac",
    ("Lead", "grade"): "1|3|5H|7",
    ("Lead", "clamps_grade"): "2|4H|6",
    ("Lead", "alloy"): "bronze|copper|aluminum",
    ("Lead", "jaws"): "smooth|serrated|self-cleaning",
    ("Detector", "detecting"): "contact|proximity",
    ("Rubber", "sort"): "rubber gloves|rubber sleeves|rubber blanket|rubber line hose|rubber cover|rigid cover",
    ("Vehicle", "body"): "bucket truck|lift|crane|digger|pickup|truck|tensioner|trailer",
    ("Vehicle", "insulation"): "insulated|uninsulated",
    ("Member", "role"): "lineman|groundman|foreman|apprentice|operator|observer",
    ("Neutral", "earthing"): "multigrounded|unigrounded",
    ("Neutral", "duty"): "carries the fault|too small for the fault",
    ("Wire", "metal"): "copper|aluminum|acsr|aac",
    ("Wire", "form"): "stranded|solid|bus",
    ("Wire", "bundle"): "2|3|4",
    ("Wire", "stranding"): "26/7|30/7|12 strands",
    ("Reclosing", "state"): "on|off|blocked",
    ("Grounding", "system"): "solid|impedance|resonant|ungrounded",
    (
        "Param",
        "sort",
    ): "structure|rod|bar|lead|detector|tester|stick|switch|capacitor|cable|vehicle|mat|person|source|conductor",
    ("Clearance", "state"): "requested|received|released|transferred",
    ("Test", "result"): "dead|live",
    ("Certify", "certified"): "grounds|dead",
    ("Mount", "height"): "below feet|above feet|below|above",
    ("Gloves", "state"): "on|off",
    ("Pause", "spell"): "overnight|for weather",
}
NUMBERS = {
    ("Rubber", "rating"),
    ("PartOf", "which"),
    ("PartOf", "of_parts"),
    ("Fault", "x_over_r"),
    ("Power", "x_over_r"),
    ("Relay", "dial"),
}
DIMENSIONS = {("Wire", "resistance"): "resistance-per-length", ("Wire", "at"): "temperature"}
BESIDE = ("number", "comment", "before")
"""Fields of every statement."""
ONE_OR_TWO = {("Parallel", "beside"): (0, 2), ("Attach", "ends"): (1, 2), ("Detach", "ends"): (1, 2)}
PAIRS = {
    ("Switch", "between"), ("Detector", "range"), ("Impedance", "positive"), ("Impedance", "zero"),
    ("Lead", "fit_size"), ("Lead", "fit_across"),
    ("Cable", "terminals"),
}  # fmt: skip


@st.composite
def points(draw: st.DrawFn) -> Point:
    names = draw(st.lists(NAMES.filter(lambda name: ".." not in name), max_size=2))
    feature = draw(st.sampled_from(FEATURES)) if not names or draw(st.booleans()) else None
    if names and names[-1].isdigit() and feature == "feet":  # `211 feet` is a length
        feature = "pole"
    return Point(" ".join([*names, feature] if feature else names))


@st.composite
def amounts(draw: st.DrawFn, dimension: str) -> Amount:
    return Amount(draw(st.sampled_from(AMOUNTS[dimension])))


def value(owner: type, field: dataclasses.Field[Any], hint: Any) -> st.SearchStrategy[Any]:
    """Values of a field, absent ones among them."""
    key = owner.__name__, field.name
    dimension = field.metadata.get("dimension", "") or DIMENSIONS.get(key, "length")
    arguments = typing.get_args(hint)
    if typing.get_origin(hint) is typing.Annotated:
        return value(owner, field, arguments[0])
    if type(None) in arguments:
        inner = [value(owner, field, argument) for argument in arguments if argument is not type(None)]
        return st.one_of(st.none(), *inner)
    if key == ("Lead", "rated"):  # a current, and for how long
        return st.one_of(st.just(()), st.tuples(amounts("current"), amounts("time")))
    if typing.get_origin(hint) is tuple:
        inner_hint = arguments[0]
        if typing.get_origin(inner_hint) is typing.Annotated:
            return st.lists(steps(), max_size=3).map(tuple)
        if key in PAIRS:
            item = value(owner, field, inner_hint)
            return st.one_of(st.just(()), st.tuples(item, item))
        least = 1 if field.default is dataclasses.MISSING else 0
        least, most = ONE_OR_TWO.get(key, (least, 4))
        if key in WORDS:
            return st.lists(st.sampled_from(WORDS[key].split("|")).map(Word), max_size=2).map(tuple)
        item = POINT_WORDS if inner_hint is Word else value(owner, field, inner_hint)
        return st.lists(item, min_size=least, max_size=most).map(tuple)
    if key in NUMBERS:
        return st.sampled_from(["9", "2.5", "10"]).map(Name)
    if key in WORDS:
        return st.sampled_from(WORDS[key].split("|")).map(Word)
    if key[1] == "stand":
        stands = st.sampled_from(["pole", "steel", "ground"])
        return st.one_of(stands, NAMES.filter(lambda name: ".." not in name)).map(Point)
    if dataclasses.is_dataclass(hint):
        return part(typing.cast(type, hint))
    simple = {
        Name: NAMES if key[1] == "names" and issubclass(owner, s.Statement) else SINGLE,
        Text: TEXTS, Date: DATES, Size: SIZES, Point: points(), Amount: amounts(dimension), bool: st.booleans(),
    }  # fmt: skip
    return simple[hint]


def part(owner: type) -> st.SearchStrategy[Any]:
    """Groups of words inside a statement."""
    hints = typing.get_type_hints(owner, include_extras=True)
    made = st.fixed_dictionaries({f.name: value(owner, f, hints[f.name]) for f in dataclasses.fields(owner)})
    return made.map(lambda values: owner(**sayable(owner, values)))


def sayable(owner: type, v: dict[str, Any]) -> dict[str, Any]:
    """Fields that can't be said together, made so that they can."""
    if (
        issubclass(owner, s.Thing | s.Phases | s.Member)
        and "names" in v
        and not issubclass(owner, s.Structure | s.Line)
    ):
        # a number alone is taken for a quantity without its unit, but where it can name a structure or line
        v["names"] = tuple(name for name in v["names"] if not name[0].isdigit()) or (Name("A1"),)
    match owner.__name__:
        case "Given" if isinstance(v["default"], Amount) and v["default"].given:
            v["default"] = Amount("6.8 kA")
        case "Clearance" if v["state"] != "transferred":
            v["to"], v["operator_told"], v["crew_told"] = None, False, False
        case "Lead":
            v["metal"] = v["metal"] if v["size"] else None
            v["fit_across"] = () if v["fit_size"] else v["fit_across"]
        case "Rod" if v["length"] and v["across"] and not (v["length"].given or v["across"].given):
            v["across"], v["length"] = sorted((v["length"], v["across"]), key=lambda one: one.quantity.si)
        case "Switch" if v["away"] is None or v["away_from"] is None:
            v["away"] = v["away_from"] = None
        case "Neighbour" if v["gap"] is None or v["gap_from"] is None:
            v["gap"] = v["gap_from"] = None
        case "Structure" if not v["pole_ground"]:
            v["pole_ground_resistance"] = None
        case "Begins":
            v["names"] = v["names"] or (Name("A1"),)
            if v["height"] not in ("below", "above"):
                v["height_of"] = None
            else:
                v["height_of"] = v["height_of"] or Name("N1")
            forms = {"clearance": ["clearance", "by"], "points": ["points"], "first": ["names", "first", "second"]}
            said = next((form for form in forms if v[form]), "")
            v["second"] = v["second"] or Point("211 A")
            rest = [key for key in v if key not in (*BESIDE, "clearance", "by", "points", "first", "second")]
            kept = forms.get(said, rest)
            empty = {"names": (), "points": (), "from_rod": (), "clearance": False}
            v.update({key: empty.get(key) for key in v if key not in (*kept, *BESIDE)})
        case "Crew" if v["crew_name"] is None:
            v["under"] = None
        case "Work":
            v["touching"] = v["touching"] or None
        case "Mount":
            if v["height"] in ("below", "above"):
                v["height_of"] = v["height_of"] or Name("N1")
            else:
                v["height_of"] = None
        case "Brief" | "Leave":
            v["people"] = () if v["all"] else v["people"] or (Name("L1"),)
        case "Neutral" if v["name"] is None:
            v["earthing"] = v["duty"] = None
        case "Shield" if not v["names"]:
            v["on_insulators"] = False
        case "Clears":
            v["amount"] = None if v["never"] else v["amount"] or Amount("24 cycles")
            v["least"] = None if v["never"] else v["least"]
        case "Voltage":
            v["amount"] = None if v["to_ground"] else v["amount"] or Amount("12.47 kV")
        case "Fault" if not (v["three_phase"] or v["to_ground"]):
            v["x_over_r"] = Name("9")
        case "Impedance" if not (v["positive"] or v["zero"]):
            v["zero"] = (Amount("1 ohm"), Amount("2 ohm"))
        case "Member" if not v["names"]:
            v["names"] = (Name("L1"),)
        case "Wire":
            v["names"] = tuple(name for name in v["names"] if not name.isdecimal()) or (
                Name("A1"),
            )  # `211 x` is a bundle
            v["form"] = v["form"] if v["metal"] not in ("acsr", "aac") else None
            v["size"] = v["size"] or (None if v["diameter"] else Size("4/0"))
            if v["size"] is v["metal"] is v["gmr"] is v["apart"] is v["resistance"] is None:
                v["metal"] = Word("copper")  # a diameter alone is no kind of wire
            v["stranding"] = v["stranding"] if v["size"] and v["form"] in (None, "stranded") else None
            v["at"] = v["resistance"] and (v["at"] or Amount("50 C"))
        case "Param" if not v["names"]:
            v["names"] = (Name("a1"),)
        case "Prove" if v["on"] is not None:
            v["on_live"] = None
        case "End" if v["by"] is not None:
            v["by_hand"] = False
        case "Unbond" | "Restore" | "Discharge" if v["on_stick"] is not None:
            v["by_hand"] = False
    return v


def statement(cls: type[s.Statement]) -> st.SearchStrategy[s.Statement]:
    """Statements of one kind, with numbers and comments."""
    hints = typing.get_type_hints(cls, include_extras=True)
    named = {f.name: f for f in dataclasses.fields(cls) if f.name not in ("kind", "number", "comment", "before")}
    strategies = {name: value(cls, field, hints[name]) for name, field in named.items()}
    if issubclass(cls, s.Step):
        strategies["number"] = st.one_of(st.none(), st.from_regex(r"[1-9][0-9]{0,2}[a-z]?", fullmatch=True))
    strategies["comment"] = st.one_of(st.none(), st.just(""), COMMENTS)
    strategies["before"] = st.lists(COMMENTS, max_size=2).map(tuple)
    return st.fixed_dictionaries(strategies).map(lambda values: cls(**sayable(cls, values)))


def kinds() -> list[type[s.Statement]]:
    return list(typing.get_args(s.AnyStatement))


def steps() -> st.SearchStrategy[Any]:
    return st.sampled_from([cls for cls in kinds() if issubclass(cls, s.Step)]).flatmap(statement)


def plans() -> st.SearchStrategy[s.PlanText]:
    """Whole plans of a few statements, in no sensible order."""
    statements = st.lists(st.sampled_from(kinds()).flatmap(statement), max_size=6).map(tuple)
    return st.builds(s.PlanText, statements, st.lists(COMMENTS, max_size=2).map(tuple))

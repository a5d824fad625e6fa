"""How each kind of statement is put in words: its keyword, and what follows it. `language.writer` sets them out on the
page.

The words are those of the grounding tradition, or of the earthing tradition where ``earth`` is asked for; either is
read back as the same statement.
"""

# ruff: noqa: ARG001  (every phrase is given the words of its tradition, whether it has a choice or not)
from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple

from groundlint.language import statements as s
from groundlint.language.statements import Statement
from groundlint.language.wording import EARTH_KEYWORDS, after, names, quoted, when
from groundlint.language.wording import Words as _Words


class Phrase(NamedTuple):
    """A statement's keyword and the rest of its words."""

    keyword: str
    rest: str


_PLURAL = {"switch": "switches", "person": "people"}


def phrase(statement: Statement, earth: bool = False) -> Phrase:
    """The words of a statement, on one line, without its number and comments."""
    keyword, *parts = _PHRASES[type(statement)](statement, _Words(earth))
    rest = " ".join(part for part in parts if part).replace(" ,", ",")
    return Phrase(EARTH_KEYWORDS.get(keyword, keyword) if earth else keyword, rest)


def _dates(st: s.Equipment) -> tuple[str, ...]:
    return after("tested", st.tested), after("inspected", st.inspected), after("due", st.due)


_Maker = Callable[[Any, _Words], tuple[str, ...]]
_PHRASES: dict[type[Statement], _Maker] = {}


def _says(kind: type[Statement]) -> Callable[[_Maker], _Maker]:
    def keep(maker: _Maker) -> _Maker:
        _PHRASES[kind] = maker
        return maker

    return keep


def _plainly(kind: type[Statement], keyword: str, field: str = "names") -> None:
    """A statement of a keyword and names."""
    _PHRASES[kind] = lambda st, _: (keyword, names(getattr(st, field)))


def _quoting(kind: type[Statement], keyword: str, field: str = "text") -> None:
    """A statement of a keyword and a text."""
    _PHRASES[kind] = lambda st, _: (keyword, quoted(getattr(st, field)))


def _amounting(kind: type[Statement], keyword: str) -> None:
    """A statement of a keyword and an amount."""
    _PHRASES[kind] = lambda st, _: (keyword, st.amount)


_quoting(s.Plan, "plan", "title")
_quoting(s.Caution, "caution")
_quoting(s.Emergency, "emergency")
_quoting(s.Follows, "follows")
_quoting(s.Use, "use", "path")
_quoting(s.Hold, "hold")
_quoting(s.Note, "note")
_quoting(s.Replan, "replan")
_NAMING: dict[type[Statement], str] = {
    s.Line: "line",
    s.Mat: "mat",
    s.Phases: "phases",
    s.Through: "through",
    s.Tag: "tag",
    s.Lock: "lock",
    s.Untag: "untag",
    s.Block: "block reclosing on",
    s.Unblock: "unblock reclosing on",
    s.TagControl: "tag control of",
    s.Enable: "enable control of",
    s.Stow: "stow",
    s.Inspect: "inspect",
    s.Unbarricade: "unbarricade",
    s.Dismount: "dismount",
    s.Shock: "shock",
    s.Disconnect: "disconnect capacitor",
    s.Pull: "pull",
}
_MEASURING: dict[type[Statement], str] = {
    s.Frequency: "frequency",
    s.Altitude: "altitude",
    s.Approach: "approach",
    s.Current: "current",
    s.Residual: "residual",
    s.Wait: "wait",
}
for _kind, _keyword in _NAMING.items():
    _plainly(_kind, _keyword)
for _kind, _keyword in _MEASURING.items():
    _amounting(_kind, _keyword)


# ------------------------------------------------------------------ headers
@_says(s.Document)
def _(st: s.Document, w: _Words) -> tuple[str, ...]:
    return "document", st.ident, after("revision", st.revision), after("dated", st.dated)


@_says(s.Method)
def _(st: s.Method, w: _Words) -> tuple[str, ...]:
    return "method", st.method, st.variant or "", after("from", st.access)


@_says(s.Given)
def _(st: s.Given, w: _Words) -> tuple[str, ...]:
    return "given", st.name, f"as {st.ident}", after("default", st.default)


@_says(s.NoSource)
def _(st: s.NoSource, w: _Words) -> tuple[str, ...]:
    return ("no source but", names(st.names)) if st.names else ("no other source",)


@_says(s.NoParallel)
def _(st: s.NoParallel, w: _Words) -> tuple[str, ...]:
    return ("no parallel line",)


@_says(s.NoNeighbour)
def _(st: s.NoNeighbour, w: _Words) -> tuple[str, ...]:
    return ("no live neighbour but", names(st.names)) if st.names else ("no live neighbour",)


@_says(s.Waive)
def _(st: s.Waive, w: _Words) -> tuple[str, ...]:
    return (
        "waive",
        st.ident,
        after("for", names(st.subjects) or None),
        after("because", quoted(st.because) or None),
        after("by", quoted(st.approved) or None),
        after("until", st.until),
    )


@_says(s.NoGrounds)
def _(st: s.NoGrounds, w: _Words) -> tuple[str, ...]:
    return "no grounds", after("because", quoted(st.because) or None), ", ".join(st.conditions)


@_says(s.PartOf)
def _(st: s.PartOf, w: _Words) -> tuple[str, ...]:
    return "part", st.which, after("of", st.of_parts)


@_says(s.Begins)
def _(st: s.Begins, w: _Words) -> tuple[str, ...]:
    if st.clearance:
        return "begins with", w("clearance"), after("of", st.by)
    if st.points:
        return "begins with", "cut", w.points(st.points)
    away = f", {st.from_pole} from the pole" if st.from_pole else ""
    others = [f", {x.distance} from {x.rod}" for x in st.from_rod]
    deep = f", {st.deep} deep" if st.deep else ""
    ends = (f"from {w.point(st.first)}", f"to {w.point(st.second)}") if st.first and st.second else ()
    return "begins with", names(st.names), after("at", st.at), away, *others, deep, _height(st), *ends


@_says(s.Leaves)
def _(st: s.Leaves, w: _Words) -> tuple[str, ...]:
    return "leaves", names(st.names), "on", after(f"under the {w('clearance')} of", st.under)


def _height(st: s.Mount | s.Begins) -> str:
    return f"{(st.height or '').replace(' feet', ' the feet')} {st.height_of or ''}".strip()


# ------------------------------------------------------------------ things
@_says(s.SourceDecl)
def _(st: s.SourceDecl, w: _Words) -> tuple[str, ...]:
    located = when(st.located, "not located")
    return "source", names(st.names), st.sort or "", after("beyond", st.beyond), after("at", st.at), located


@_says(s.Parallel)
def _(st: s.Parallel, w: _Words) -> tuple[str, ...]:
    return "parallel", names(st.names), after("beside", " to ".join(st.beside) or None), after("at", st.distance)


@_says(s.Neighbour)
def _(st: s.Neighbour, w: _Words) -> tuple[str, ...]:
    gap = f"{st.gap} from {w.point(st.gap_from)}" if st.gap is not None and st.gap_from is not None else ""
    cover = when(st.covered, "covered"), when(st.bare, "bare"), after("with", names(st.goods) or None)
    return "neighbour", names(st.names), after("live", st.live), after("at", st.at), gap, *cover


@_says(s.Switch)
def _(st: s.Switch, w: _Words) -> tuple[str, ...]:
    return (
        st.sort,
        names(st.names),
        after("between", " and ".join(st.between) or None),
        after("at", st.at),
        f"{st.away} from {st.away_from}" if st.away is not None else "",
        st.position or "",
        when(st.tagged, "tagged"),
        when(st.locked, "locked"),
        when(st.visible, "visible gap"),
        when(st.hidden, "no visible gap"),
        st.control or "",
        st.reach or "",
        when(st.no_lock, "no place for a lock"),
        when(st.control_stays, "control always on"),
        when(st.trips_open, "trips open"),
        when(st.tools_to_close, "tools to close"),
        when(st.override_blocked, "override blocked"),
        when(st.override_procedure, "override procedure"),
    )


@_says(s.Capacitor)
def _(st: s.Capacitor, w: _Words) -> tuple[str, ...]:
    return "capacitor", names(st.names), after("at", st.at)


def _hops(hops: Iterable[s.Hop]) -> str:
    """Places in order, each with the length that follows."""
    return " ".join(f"{x.structure} ({x.span_length})" if x.span_length else x.structure for x in hops)


@_says(s.Cable)
def _(st: s.Cable, w: _Words) -> tuple[str, ...]:
    terminals = f"from {' to '.join(st.terminals)}" if st.terminals else ""
    by = after("by", _hops(st.vaults) or None)
    return "cable", st.name, terminals, by, st.transfer or "", after("because", quoted(st.because) or None)


@_says(s.Structure)
def _(st: s.Structure, w: _Words) -> tuple[str, ...]:
    noun = {"steel": "steel tower"}.get(st.material or "", f"{st.material} pole") if st.material else ""
    ground = f"{w('pole ground')} {st.pole_ground_resistance or ''}".rstrip() if st.pole_ground else ""
    ends = when(st.guyed, "guyed"), when(st.dead_end, "dead end")
    return "structure", names(st.names), noun, after("footing", st.footing), ground, *ends


@_says(s.Soil)
def _(st: s.Soil, w: _Words) -> tuple[str, ...]:
    return "soil", st.amount, after("to", st.depth), after("then", st.lower)


@_says(s.Surface)
def _(st: s.Surface, w: _Words) -> tuple[str, ...]:
    return "surface", st.layer or "", st.amount, st.thick or ""


@_says(s.Measured)
def _(st: s.Measured, w: _Words) -> tuple[str, ...]:
    return "measured", st.ident, st.amount


@_says(s.Rod)
def _(st: s.Rod, w: _Words) -> tuple[str, ...]:
    return "rod", names(st.names), st.length or "", after("x", st.across), *_dates(st)


@_says(s.Bar)
def _(st: s.Bar, w: _Words) -> tuple[str, ...]:
    return "bar", names(st.names), *_dates(st)


@_says(s.Lead)
def _(st: s.Lead, w: _Words) -> tuple[str, ...]:
    size = f"{st.size} {w(st.metal or '')}".rstrip() if st.size else ""
    grade, rated = after("grade", st.grade), after("rated", " for ".join(st.rated) or None)
    clamps = after("clamps", " ".join(filter(None, (st.clamps, after("of grade", st.clamps_grade)))) or None)
    bodies, jaws = after("bodies", w(st.alloy) if st.alloy else None), after("jaws", st.jaws)
    fit = after("fit", " to ".join(st.fit_size or st.fit_across) or None)
    return "lead", names(st.names), size, st.length or "", grade, rated, clamps, bodies, jaws, fit, *_dates(st)


@_says(s.Detector)
def _(st: s.Detector, w: _Words) -> tuple[str, ...]:
    return "detector", names(st.names), after("for", " to ".join(st.range) or None), st.detecting or "", *_dates(st)


@_says(s.Tester)
def _(st: s.Tester, w: _Words) -> tuple[str, ...]:
    return "tester", names(st.names), *_dates(st)


@_says(s.Stick)
def _(st: s.Stick, w: _Words) -> tuple[str, ...]:
    return "stick", names(st.names), st.length or "", *_dates(st)


@_says(s.Rubber)
def _(st: s.Rubber, w: _Words) -> tuple[str, ...]:
    return st.sort, names(st.names), after("class", st.rating), *_dates(st)


@_says(s.LooseWire)
def _(st: s.LooseWire, w: _Words) -> tuple[str, ...]:
    return "loose wire", names(st.names), st.length or ""


@_says(s.Vehicle)
def _(st: s.Vehicle, w: _Words) -> tuple[str, ...]:
    return "vehicle", names(st.names), st.body or "", st.insulation or "", *_dates(st)


@_says(s.Crew)
def _(st: s.Crew, w: _Words) -> tuple[str, ...]:
    members = [
        f"{w(m.role)} {names(m.names)}{'' if m.qualified is None else ' qualified' if m.qualified else ' unqualified'}"
        for m in st.members
    ]
    named = f"{st.crew_name}{when(st.under is not None, f' under {st.under}')}:" if st.crew_name else ""
    return "crew", named, ", ".join(members)


# ------------------------------------------------------------------ properties
@_says(s.Neutral)
def _(st: s.Neutral, w: _Words) -> tuple[str, ...]:
    return ("neutral", st.name, w(st.earthing or ""), st.duty or "") if st.name else ("no neutral",)


@_says(s.Shield)
def _(st: s.Shield, w: _Words) -> tuple[str, ...]:
    return ("shield", names(st.names), when(st.on_insulators, "on insulators")) if st.names else ("no shield wire",)


@_says(s.Wires)
def _(st: s.Wires, w: _Words) -> tuple[str, ...]:
    return "wires", ", ".join(" ".join(filter(None, _wire(x, w))) for x in st.wires)


def _wire(x: s.Wire, w: _Words) -> Iterator[str | None]:
    yield names(x.names)
    yield f"{x.bundle} x" if x.bundle else None
    yield x.size
    diameter = f"{x.diameter} across" if x.diameter else None
    yield diameter if x.size is None else None  # in the place of the size
    yield w(x.metal or "")
    yield x.stranding
    yield x.form
    yield diameter if x.size is not None else None
    yield x.resistance
    yield after("at", x.at)
    yield after("gmr", x.gmr)
    yield f"{x.apart} apart" if x.apart else None


@_says(s.Route)
def _(st: s.Route, w: _Words) -> tuple[str, ...]:
    return "route", _hops(st.hops)


@_says(s.Spacing)
def _(st: s.Spacing, w: _Words) -> tuple[str, ...]:
    return "spacing", st.ident


@_says(s.Place)
def _(st: s.Place, w: _Words) -> tuple[str, ...]:
    return "place", " ".join(f"{x.conductor} ({x.across}, {x.height})" for x in st.coordinates)


@_says(s.Voltage)
def _(st: s.Voltage, w: _Words) -> tuple[str, ...]:
    return "voltage", f"{st.to_ground} {w('to ground')}" if st.to_ground else st.amount or ""


@_says(s.Fault)
def _(st: s.Fault, w: _Words) -> tuple[str, ...]:
    three = f"{st.three_phase} three-phase" if st.three_phase else ""
    two = f"{st.between_phases} phase-to-phase" if st.between_phases else ""
    one = f"{st.to_ground} {w('to ground')}" if st.to_ground else ""
    return "fault", ", ".join(part for part in (three, two, one, after("x/r", st.x_over_r)) if part)


@_says(s.Power)
def _(st: s.Power, w: _Words) -> tuple[str, ...]:
    return "power", st.amount, after(", x/r", st.x_over_r)


@_says(s.Impedance)
def _(st: s.Impedance, w: _Words) -> tuple[str, ...]:
    parts = (("positive", st.positive), ("zero", st.zero))
    return "impedance", ", ".join(f"{word} {' reactance '.join(pair)}" for word, pair in parts if pair)


@_says(s.Clears)
def _(st: s.Clears, w: _Words) -> tuple[str, ...]:
    return "clears", "never" if st.never else f"in {st.amount}", f"at {st.least} or more" if st.least else ""


@_says(s.Relay)
def _(st: s.Relay, w: _Words) -> tuple[str, ...]:
    return "relay", st.ident, after("pickup", st.pickup), after("dial", st.dial), after("breaker", st.breaker)


@_says(s.Grounding)
def _(st: s.Grounding, w: _Words) -> tuple[str, ...]:
    return "grounding", st.system


@_says(s.Reclosing)
def _(st: s.Reclosing, w: _Words) -> tuple[str, ...]:
    return "reclosing", st.state


# ------------------------------------------------------------------ blocks
@_says(s.Routine)
def _(st: s.Routine, w: _Words) -> tuple[str, ...]:
    params = [
        f"{_PLURAL.get(p.sort, f'{p.sort}s') if len(p.names) > 1 else p.sort} {names(p.names)}" for p in st.params
    ]
    return "routine", st.ident, f"({', '.join(params)})" if params else ""


@_says(s.Stage)
def _(st: s.Stage, w: _Words) -> tuple[str, ...]:
    # of several words, one may be a word of the language that no name can be: `stage a rod alone`
    plain = st.title.isalpha() and st.title.lower() not in ("and", "the")
    return "stage", st.title if plain else quoted(st.title)


# ------------------------------------------------------------------ steps
@_says(s.Brief)
def _(st: s.Brief, w: _Words) -> tuple[str, ...]:
    return "brief", "all" if st.all else names(st.people)


@_says(s.Leave)
def _(st: s.Leave, w: _Words) -> tuple[str, ...]:
    return "leave", "all" if st.all else names(st.people)


@_says(s.Open)
def _(st: s.Open, w: _Words) -> tuple[str, ...]:
    kept = when(st.in_sight, ", in sight"), when(st.in_reach, ", within reach"), when(st.one_crew, ", one crew")
    return (
        "open",
        names(st.names),
        when(st.lock_it, ", lock it"),
        when(st.tag_it, "and tag it"),
        when(st.seen, ", gap seen"),
        *kept,
        after(", under sole control of", st.sole),
        after("by", st.by),
    )


@_says(s.Close)
def _(st: s.Close, w: _Words) -> tuple[str, ...]:
    return "close", names(st.names), after("by", st.by)


@_says(s.Verify)
def _(st: s.Verify, w: _Words) -> tuple[str, ...]:
    return "verify", names(st.names), "open"


@_says(s.Clearance)
def _(st: s.Clearance, w: _Words) -> tuple[str, ...]:
    told = when(st.operator_told, ", operator told"), when(st.crew_told, ", crew told")
    return "clearance", st.name or "", st.state, after("by", st.by), after("to", st.to), *told


@_says(s.Prove)
def _(st: s.Prove, w: _Words) -> tuple[str, ...]:
    live = f"on live {w.point(st.on_live)}" if st.on_live else ""
    return "prove", st.name, after("on", st.on), live


@_says(s.Test)
def _(st: s.Test, w: _Words) -> tuple[str, ...]:
    bare, hand, finding = when(st.improvised, "improvised"), when(st.by_hand, "by hand"), after(", finding", st.result)
    return "test", w.points(st.points), after("with", st.with_), bare, after("on", st.on_stick), hand, finding


@_says(s.Clean)
def _(st: s.Clean, w: _Words) -> tuple[str, ...]:
    return "clean", w.points(st.points)


@_says(s.Cut)
def _(st: s.Cut, w: _Words) -> tuple[str, ...]:
    return "cut", w.points(st.points), when(st.stays_open, "to stay open")


@_says(s.Downed)
def _(st: s.Downed, w: _Words) -> tuple[str, ...]:
    return "downed", w.points(st.points)


@_says(s.StringIn)
def _(st: s.StringIn, w: _Words) -> tuple[str, ...]:
    return "string", w.points(st.points)


@_says(s.Park)
def _(st: s.Park, w: _Words) -> tuple[str, ...]:
    return "park", names(st.names), after("at", st.at)


@_says(s.Certify)
def _(st: s.Certify, w: _Words) -> tuple[str, ...]:
    return "certify", w(st.certified), after("at", st.at), after("by", st.by)


@_says(s.Discharge)
def _(st: s.Discharge, w: _Words) -> tuple[str, ...]:
    return "discharge", names(st.names) + w.means(st.on_stick, st.by_hand)


@_says(s.Join)
def _(st: s.Join, w: _Words) -> tuple[str, ...]:
    return "join", w.points(st.points)


@_says(s.Set)
def _(st: s.Set, w: _Words) -> tuple[str, ...]:
    away = f", {st.from_pole} from the pole" if st.from_pole else ""
    others = [f", {x.distance} from {x.rod}" for x in st.from_rod]
    return "set", names(st.names), after("at", st.at), away, *others, f", {st.deep} deep" if st.deep else ""


@_says(s.Barricade)
def _(st: s.Barricade, w: _Words) -> tuple[str, ...]:
    return "barricade", names(st.names), after("at", st.distance)


@_says(s.Mount)
def _(st: s.Mount, w: _Words) -> tuple[str, ...]:
    return "mount", st.name, after("at", st.at), _height(st)


@_says(s.Attach)
def _(st: s.Attach, w: _Words) -> tuple[str, ...]:
    return "attach", st.name, ", then ".join(f"to {w.end(end)}" for end in st.ends)


@_says(s.Detach)
def _(st: s.Detach, w: _Words) -> tuple[str, ...]:
    return "detach", st.name, ", then ".join(f"from {w.end(end)}" for end in st.ends)


@_says(s.Bond)
def _(st: s.Bond, w: _Words) -> tuple[str, ...]:
    lead, means = after("with", st.with_), w.means(st.on_stick, st.by_hand).strip()
    return "bond", w.point(st.first), f"to {w.point(st.second)}", lead, means


@_says(s.BondAcross)
def _(st: s.BondAcross, w: _Words) -> tuple[str, ...]:
    return "bond across", w.point(st.point), after("with", st.with_), w.means(st.on_stick, st.by_hand).strip()


@_says(s.Unbond)
def _(st: s.Unbond, w: _Words) -> tuple[str, ...]:
    return "unbond", w.point(st.point) + w.means(st.on_stick, st.by_hand)


def _stand(stand: str | None) -> str:
    article = "the " if stand in ("pole", "ground") else ""
    return f"on {article}{stand}" if stand else ""


def _reaching(points: tuple[str, ...] | None, w: _Words) -> str:
    return "" if points is None else f", reaching {_points_or_nothing(points, w)}"


def _points_or_nothing(points: tuple[str, ...], w: _Words) -> str:
    return w.points(points) if points else "nothing"


@_says(s.Enter)
def _(st: s.Enter, w: _Words) -> tuple[str, ...]:
    return "enter", names(st.names), after("at", st.at), _stand(st.stand), _reaching(st.reaching, w)


@_says(s.Move)
def _(st: s.Move, w: _Words) -> tuple[str, ...]:
    where = after("at", st.at), after("to", st.to)
    return "move", names(st.names), *where, _stand(st.stand), _reaching(st.reaching, w)


@_says(s.Work)
def _(st: s.Work, w: _Words) -> tuple[str, ...]:
    touching = after("touching", w.points(st.touching) if st.touching else None)
    return "work", quoted(st.text), after("by", names(st.by) or None), after("at", st.at), touching


@_says(s.Pause)
def _(st: s.Pause, w: _Words) -> tuple[str, ...]:
    return "pause", st.amount or "", st.spell or "", after("for", quoted(st.purpose) or None)


@_says(s.Lift)
def _(st: s.Lift, w: _Words) -> tuple[str, ...]:
    means = w.means(st.on_stick, st.by_hand).strip()
    protected, purpose = after("protected by", quoted(st.protected) or None), after("for", quoted(st.purpose) or None)
    return "lift", st.name, f"from {w.point(st.point)}", means, purpose, protected


@_says(s.Restore)
def _(st: s.Restore, w: _Words) -> tuple[str, ...]:
    return "restore", st.name, f"to {w.point(st.point)}{w.means(st.on_stick, st.by_hand)}"


@_says(s.Cover)
def _(st: s.Cover, w: _Words) -> tuple[str, ...]:
    return "cover", names(st.names), after("at", st.at), after("with", names(st.goods) or None), after("by", st.by)


@_says(s.Uncover)
def _(st: s.Uncover, w: _Words) -> tuple[str, ...]:
    return "uncover", names(st.names), after("by", st.by)


@_says(s.Spike)
def _(st: s.Spike, w: _Words) -> tuple[str, ...]:
    return "spike", st.name, after("at", st.at)


@_says(s.Gloves)
def _(st: s.Gloves, w: _Words) -> tuple[str, ...]:
    return "gloves", st.state, names(st.names), after("with", names(st.goods) or None)


@_says(s.Disable)
def _(st: s.Disable, w: _Words) -> tuple[str, ...]:
    return "disable control of", names(st.names), when(st.tag_it, "and tag it")


@_says(s.Handle)
def _(st: s.Handle, w: _Words) -> tuple[str, ...]:
    touching = after("touching", _points_or_nothing(st.touching, w) if st.touching is not None else None)
    return "handle", names(st.names), after("by", st.by), touching


@_says(s.Do)
def _(st: s.Do, w: _Words) -> tuple[str, ...]:
    return "do", st.ident, f"({' '.join(st.names)})" if st.names else ""


@_says(s.Repeat)
def _(st: s.Repeat, w: _Words) -> tuple[str, ...]:
    return "repeat", st.ident, f"({' '.join(st.names)})" if st.names else ""


@_says(s.Undo)
def _(st: s.Undo, w: _Words) -> tuple[str, ...]:
    return "undo", st.ident, after("at", st.at)

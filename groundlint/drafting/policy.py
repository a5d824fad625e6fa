"""What a house does in its own way where several are right: a frozen record, and the file that states it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin, get_type_hints

if TYPE_CHECKING:
    from groundlint.text import Diagnostic, Source


def _choice(default: Any, meaning: str) -> Any:
    return field(default=default, metadata={"meaning": meaning})


@dataclass(frozen=True)
class Choices:
    """How steps are written where more than one way is right. Nothing in it is a fact of a site."""

    briefing: Literal["first", "cleared"] = _choice(
        "first", "the crew is briefed before anything is done, or once the clearance is received"
    )
    ask: bool = _choice(True, "a step asks for the clearance before it is received")
    opened_by: Literal["nobody named", "holder"] = _choice(
        "nobody named", "who opens and closes what is open: nobody named, or the holder of the clearance"
    )
    gap: Literal["verified", "seen"] = _choice(
        "verified", "an open point that does not say whether its gap is visible is verified by a step, or seen open"
    )
    lock: Literal["with", "apart"] = _choice("with", "an open point is locked with its opening, or by a step")
    tag: Literal["with", "apart"] = _choice("with", "an open point is tagged with its opening, or by a step")
    inspect: Literal["each set", "before the clamps", "all first"] = _choice(
        "each set", "leads are looked over set by set, right before the first clamp of a set, or all at once"
    )
    test: Literal["each set", "all first"] = _choice(
        "each set", "conductors are tested as each set goes on, or everywhere before the first"
    )
    points: Literal["together", "apart"] = _choice(
        "together", "a structure's conductors are tested in one step or each"
    )
    test_neutral: bool = _choice(False, "a multigrounded neutral is tested like the phases; another always is")
    clean: Literal["together", "apart"] = _choice(
        "together", "conductors are brushed at once before the clamps, or each before its own"
    )
    leads: Literal["star", "chain", "half"] = _choice(
        "star",
        "star: each phase from the bar; chain: each from the one before; half: one from the bar, the others from it",
    )
    side_by_side: bool = _choice(False, "two leads in place of one, side by side, wherever a set joins two points")
    phases: tuple[int, ...] = _choice((1, 2, 3), "the order in which phases are grounded, by their places in the plan")
    electrode: Literal["rod", "pole ground", "neutral"] = _choice(
        "rod", "which electrode goes first: a rod, the structure's own ground, a multigrounded neutral"
    )
    electrode_first: bool = _choice(True, "the electrode stands before the conductors are tested, or after")
    electrode_lead: Literal["in one step", "in two"] = _choice("in one step", "how the electrode's lead goes on")
    rod_away: str | None = _choice("", "how far a rod is from the structure; where not said, 16 ft or 5 m")
    rod_barricade: str | None = _choice("", "how far people are kept from a rod; where not said, 16 ft or 5 m")
    bar: Literal["always", "where needed"] = _choice(
        "always",
        "a set begins on a bar, or on steel, or at brackets and from a bucket on the neutral, where that holds",
    )
    bracket_bar: Literal["feet", "wire", "not said"] = _choice(
        "feet", "where the bar of a bracket hangs: below the feet, below the lowest wire, or not said"
    )
    bracket_shield: bool = _choice(True, "brackets ground the shield wire too; at the work it always is")
    stick: Literal["line end", "both ends"] = _choice("line end", "the ends that go on by stick between two conductors")
    bracket_spans: Literal[1, 2] = _choice(1, "spans from the work to the brackets")
    at_work: Literal["set", "lead", "joined", "none"] = _choice(
        "set",
        "between brackets: a set at the work; one lead from a bar to the phase in reach; from a bucket also the phases "
        "joined to one another, or nothing",
    )
    routines: bool = _choice(False, "sets that are alike go on by a routine")
    undo: bool = _choice(True, "what went on by a routine comes off by it")
    one_by_one: bool = _choice(False, "of several works, one is done and its set off before the next set goes on")
    vehicle: Literal["bar", "rod", "barricade"] = _choice(
        "bar", "a vehicle is bonded to the bar, or to a rod of its own, or only barricaded, as it is where leads lack"
    )
    vehicle_barricade: str | None = _choice("", "how far people are kept from a vehicle; where not said, 10 ft or 3 m")
    up: Literal[1, 2] = _choice(2, "linemen who go up, as far as there are so many besides the holder")
    gloves: bool = _choice(False, "gloves are on until a worker is in place")
    watch: bool = _choice(False, "the groundman's place on the ground is stated")
    reach: Literal["all", "conductors", "phases"] = _choice(
        "all",
        "who is in place has in reach all that stands there; from a bucket the conductors alone; of these the phases",
    )
    off: Literal["whole", "end by end"] = _choice("whole", "a lead comes off in one step or two")
    back: Literal["in reverse", "in order"] = _choice("in reverse", "the order of structures in which sets come off")
    clear_away: bool = _choice(True, "barricades and covers come down before the clearance is released")
    after: Literal["nothing", "untag", "close"] = _choice(
        "nothing", "after the release: nothing, tags off, or tags off and all closed that was opened"
    )


def spelled(name: str) -> str:
    """A choice's name as a policy file has it."""
    return name.replace("_", "-")


def example() -> str:
    """A policy file that states every choice as it is where nothing is said, with its meaning."""
    lines = ["# What a house does in its own way. Whatever is left out stands as here.", ""]
    for one in fields(Choices):
        lines.append(f"# {one.metadata['meaning']}")
        among = _among(_kinds()[one.name])
        if among:
            lines.append(f"# one of {', '.join(map(_written, among))}")
        lines += [f"{spelled(one.name)} = {_written(one.default)}", ""]
    return "\n".join(lines)


def read_policy(source: Source) -> tuple[Choices, tuple[Diagnostic, ...]]:
    """The choices that a policy file states, and what is wrong with it."""
    from groundlint.text.toml import TomlText

    toml, kinds = TomlText(source), _kinds()
    toml.known((), toml.table, [spelled(name) for name in kinds])
    found: dict[str, Any] = {}
    for name, kind in kinds.items():
        key = spelled(name)
        if key not in toml.table:
            continue
        value = toml.table[key]
        value = tuple(value) if isinstance(value, list) else value
        if wrong := _wrong(kind, value):
            toml.complain("wrong-value", (key,), f"`{key}` is {_written(value)}, which is no value for it", wrong)
        else:
            found[name] = value
    return Choices(**found), tuple(toml.problems)


def _kinds() -> dict[str, Any]:
    return get_type_hints(Choices)


def _among(kind: Any) -> tuple[Any, ...]:
    """The values of a choice among several; empty for any other."""
    return (True, False) if kind is bool else get_args(kind) if get_origin(kind) is Literal else ()


def _wrong(kind: Any, value: Any) -> str:
    """What to write in place of a value that can't stand there; empty where it can."""
    among = _among(kind)
    if among:
        fits = any(value == one and type(value) is type(one) for one in among)
        return "" if fits else f"write one of {', '.join(map(_written, among))}"
    if kind == tuple[int, ...]:
        fits = isinstance(value, tuple) and sorted(map(str, value)) == ["1", "2", "3"]
        return "" if fits else "write the places of three phases, such as [3, 1, 2]"
    return "" if isinstance(value, str) and (not value or _is_length(value)) else 'write a length, such as "20 ft"'


def _is_length(text: str) -> bool:
    from groundlint.values.units import Quantity, parse_quantity

    read = parse_quantity(text)
    return isinstance(read, Quantity) and read.dimension == "length" and read.si > 0


def _written(value: Any) -> str:
    """A value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        return f"[{', '.join(map(_written, value))}]"
    return re.sub(r"[\x00-\x1f]", " ", f'"{value}"') if isinstance(value, str) else str(value)

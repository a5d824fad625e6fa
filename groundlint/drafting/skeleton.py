"""A plan to begin with: the order of the steps for a method and a place to work from, and no fact of the site.

What is not said in it (voltages, sizes, lengths, soil, dates) is what a review asks for, with its place and a text.
Names are stand-ins that the writer replaces. The order of the steps is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.text import Source


class NoSuchPlanError(ValueError):
    """A method that is not built from such a place."""


class _Set(NamedTuple):
    """A set of grounds: at which structure, with which rod (none on steel), bar and leads, how it hangs together."""

    at: str
    rod: str | None
    bar: str
    leads: tuple[str, ...]
    wires: tuple[str, ...]
    below: str
    bond: str | None = None  # the lead to the truck

    @property
    def base(self) -> tuple[str, ...]:
        """The lead to the rod."""
        return self.leads[:1] if self.rod else ()

    def on(self) -> list[str]:
        """Steps that put it on."""
        steps = [f"inspect {' '.join((*self.leads, *([self.bond] if self.bond else [])))}"]
        if self.rod:
            steps += [f"set {self.rod} at {self.at}", f"attach {self.leads[0]} to {self.rod}", f"barricade {self.rod}"]
        steps += [f"mount {self.bar} at {self.at} {self.below}"]
        steps += [f"attach {lead} to {self.bar}" for lead in self.base]
        steps += [f"bond V1 to {self.bar} with {self.bond}"] if self.bond else []
        phases = [one for one in self.wires if one != "N"]
        steps += ["prove D1 on T1", f"test {self.at} {' '.join(phases)} with D1 on H1", "prove D1 on T1"]
        steps += [f"clean {self.at} {' '.join(self.wires)}"]
        return steps + [
            f"attach {lead} to {self.bar}, then to {self.at} {wire} by H1"
            for lead, wire in zip(self.leads[len(self.base) :], self.wires, strict=False)
        ]

    def off(self) -> list[str]:
        """Steps that take it off, in the opposite order."""
        pairs = list(zip(self.leads[len(self.base) :], self.wires, strict=False))
        steps = [f"detach {lead} from {self.at} {wire} by H1, then from {self.bar}" for lead, wire in reversed(pairs)]
        steps += ["unbond V1"] if self.bond else []
        steps += [f"detach {lead} from {self.bar}, then from {self.rod}" for lead in self.base]
        return [*steps, f"dismount {self.bar}"]


def skeleton(method: str, access: str, words: str = "grounding", *, markdown: bool = False) -> str:
    """The text of a plan to begin with; in Markdown, with a heading for each part. `in_parts` says of what."""
    parts = in_parts(method, access, words)
    if not markdown:
        return "\n".join(text for _, text in parts)
    return "\n".join(f"## {heading}\n\n```tpg\n{text}```\n" for heading, text in parts)


def in_parts(method: str, access: str, words: str = "grounding") -> list[tuple[str, str]]:
    """The headings of a plan to begin with, and the text below each. ``method``, ``access`` and ``words`` are of those
    in `drafting.choices`. `NoSuchPlanError` where a method is not built from such a place."""
    if method == "small-neutral" and access == "steel":
        raise NoSuchPlanError(
            "steel is itself the way of the fault to ground, so that nothing there hangs on a small neutral"
        )
    number, laid_out = 0, []
    for heading, lines in _parts(method, access):
        if lines[0].startswith("stage"):
            lines[1:] = [f"{n}. {line}" for n, line in enumerate(lines[1:], start=number + 1)]
            number += len(lines) - 1
        read = read_statements(Source("", "\n".join(lines))).text
        laid_out.append((heading, write_plan(replace(read, tradition="earth" if words == "earthing" else "ground"))))
    return laid_out


def _parts(method: str, access: str) -> list[tuple[str, list[str]]]:
    """Headings with their lines."""
    steel, bucket = access == "steel", access == "bucket"
    wires = ("A", "B", "C") if steel else ("N", "A", "B", "C")
    dual = method == "dual-point"
    route = [f"P{n}" for n in range(1, 6 if dual else 4)]
    work = route[len(route) // 2]
    below = "below A" if steel else "below N" if bucket else "below the feet"
    extra = () if steel else ("",)
    sizes = len(wires) + len(extra)
    names = iter(range(1, 100))

    def leads(count: int) -> tuple[str, ...]:
        return tuple(f"G{next(names)}" for _ in range(count))

    sets: list[_Set] = []
    if dual:
        for number, at in enumerate((route[1], route[3]), start=1):
            sets.append(_Set(at, None if steel else f"R{number}", f"K{number}", leads(sizes), wires, below))
        sets.append(_Set(work, None, "K3", leads(len(wires)), wires, below))
    else:
        sets.append(_Set(work, None if steel else "R1", "K1", leads(sizes), wires, below))
    if bucket:
        sets[-1] = sets[-1]._replace(bond=leads(1)[0])
    rods = [one.rod for one in sets if one.rod]
    head = [
        'plan      "the job, in a few words"',
        "document  PROC-1 revision 1",
        f"method    {'single-point small neutral' if method == 'small-neutral' else method} from the {access}",
        "",
        "line Line1",
        "  phases    A B C",
        *(["  neutral   N too small for the fault" if method == "small-neutral" else "  neutral   N"] * (not steel)),
        f"  route     {' '.join(route)}",
        "",
        f"source Feed utility beyond {route[0]}",
        f"switch SW1 between Feed and {route[0]} normally closed",
        f"structure {route[0]}..{route[-1]}" + " steel tower" * steel,
    ]
    kit = [
        *([f"rod {' '.join(rods)}"] if rods else []),
        f"bar {' '.join(one.bar for one in sets)}",
        f"lead G1..G{next(names) - 1}",
        "detector D1",
        "tester T1",
        "stick H1",
        *(["vehicle V1 bucket truck"] if bucket else []),
        "crew lineman Lineman1 Lineman2, groundman Groundman1",
    ]
    isolate = [
        "brief all",
        "clearance Line1 requested by Lineman1",
        "block reclosing on Feed",
        "open SW1, lock it and tag it",
        "verify SW1 is open",
        "clearance Line1 received by Lineman1",
    ]
    on = [step for one in sets for step in one.on()]
    stand = "in V1" if bucket else f"on the {access}"
    reach = f"reaching {' '.join(wires)}" + (" and the pole" if access == "pole" else " and the steel" if steel else "")
    work_steps = [
        'hold "until Lineman1 has looked over the grounds"',
        f"enter Lineman2 at {work} {stand}, {reach}",
        'work "the work itself" by Lineman2',
        "leave Lineman2",
    ]
    off = [step for one in reversed(sets) for step in one.off()]
    off += ["clearance Line1 released by Lineman1", "untag SW1", "close SW1 by Lineman2"]
    stages = {"isolate": isolate, "ground": on, "work": work_steps, "remove": off}
    return [
        ("The job and the line", head),
        ("What is taken along, and who goes", kit),
        *((name.capitalize(), [f"stage {name}", *steps]) for name, steps in stages.items()),
    ]

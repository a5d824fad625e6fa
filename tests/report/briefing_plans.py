"""Plans and computed values for tests of the briefing."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from crowd import reviewer

from groundlint.findings.model import Review
from groundlint.plan.models import Lead, Plan
from groundlint.report.brief.results import Assumed, Computed, Duty, Electrical, Exposure
from groundlint.text import Source
from groundlint.text.decode import decode
from groundlint.timeline import replay
from groundlint.values import Unknown

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
EVERY_EXAMPLE = sorted([*EXAMPLES.glob("*.tpg"), *(p for p in EXAMPLES.glob("*.md") if p.name != "README.md")])


@lru_cache(maxsize=2)
def review_of(text: str, name: str = "plan.tpg") -> Review:
    """A text, reviewed."""
    return reviewer(computed=True).review(Source(name, text))


@lru_cache(maxsize=8)
def example(name: str) -> Review:
    """An example of the project, reviewed."""
    path = EXAMPLES / name
    source, problems = decode(path.read_bytes(), f"examples/{name}")
    return reviewer(computed=True).review(
        source, lambda part: decode((EXAMPLES / part).read_bytes(), part)[0], None, problems
    )


def made_up(plan: Plan) -> Electrical:
    """Values for every lead and worker of a plan: known ones, one over, and some not known. They mean nothing."""
    timeline = replay(plan)
    missing = Unknown.of("the contact resistance of the clamps", "contact 0.2 mohm")
    exposures = [
        Exposure(person.name, at, missing if (at + i) % 5 == 4 else 12.0 * (1 + i) + at % 7 * 30, 147.0, "Hobnail", "A")
        for at in range(timeline.n + 1)
        for i, person in enumerate(timeline.people_in_place(at))
    ]
    duties = [
        Duty(lead.name, missing, missing)
        if i == 2
        else Duty(lead.name, 4100.0 + i * 1100, 14000.0, 3, "Hobnail", "ASTM F855, grade 3")
        for i, lead in enumerate(plan.of(Lead))
    ]
    computed = (
        Computed("resistance of R1", "31 ohm", "Dwight 1936, one rod", "IEEE 142"),
        Computed("rise of R1", missing),
    )
    assumed = (Assumed("clamp contact", "0.05 mohm", "1 mohm", "no plan states it", "from memory"),)
    return Electrical(tuple(exposures), tuple(duties), computed, assumed)


def long_plan(structures: int = 12, grounded: int = 6, each: int = 5) -> str:
    """A plan of so many structures, grounds at some of them, and people at work between; long names now and then."""
    names = [f"LONGLINE-{at:03}" if at % 4 == 0 else f"S{at}" for at in range(1, structures + 1)]
    sites = names[:: max(1, structures // grounded)][:grounded]
    rows = [
        'plan "Twelve structures, thirty leads"',
        "document LP-12 revision 1 dated 2026-03-02",
        "method dual-point from the pole",
        "line Everlong",
        "  voltage 24.9 kV",
        "  frequency 60 Hz",
        "  phases A B C",
        "  neutral N multigrounded",
        "  shield OGW",
        "  route " + " (70 m) ".join(names),
        f"source NorthwesternUtility beyond {names[0]}",
        f"source Dairy at {names[len(names) // 2]} customer generation",
        f"source South-Substation-Feeder-12 beyond {names[-1]} tie",
        f"breaker CB-NORTHWEST-1 between NorthwesternUtility and {names[0]} normally closed",
        f"cutout FUSE-DAIRY between Dairy and {names[len(names) // 2]} normally closed",
        f"disconnect DS9 between South-Substation-Feeder-12 and {names[-1]} normally open",
        f"neighbour UnderbuildOfTheQuarry live 2.4 kV at {sites[0]}, 7 ft from {sites[0]} N",
        f"parallel Birch beside {names[0]} to {names[-1]} at 30 m",
        f"structure {' '.join(names)} wood pole with pole ground",
        "crew foreman Featherstonehaugh, lineman A1 A2 A3 A4 A5 A6 A7",
        f"bar {' '.join(f'K{i}' for i in range(len(sites)))}",
        f"rod {' '.join(f'R{i}' for i in range(len(sites)))} 8 ft x 5/8 in",
        f"lead {' '.join(f'LEAD-{i}-{j}' for i in range(len(sites)) for j in range(each))} 2/0 copper 25 ft grade 3",
        "stick H1 8 ft",
        "stage isolate",
        "  open CB-NORTHWEST-1 FUSE-DAIRY DS9, lock it and tag it",
        "stage ground",
    ]
    points = ["N", "A", "B", "C", "OGW"]
    for i, site in enumerate(sites):
        rows += [f"  set R{i} at {site}, 20 ft from the pole, 8 ft deep", f"  barricade R{i} at 10 ft"]
        rows += [f"  mount K{i} at {site} below the feet", f"  attach LEAD-{i}-0 to R{i}, then to K{i}"]
        rows += [f"  attach LEAD-{i}-{j} to K{i}, then to {site} {points[(j - 1) % 5]} by H1" for j in range(1, each)]
    rows += [
        "stage work",
        f"  enter A1 A2 A3 A4 A5 at {sites[0]} on the pole, reaching N A B C OGW and the pole",
        f"  enter A6 at {sites[-1]} on the pole, reaching A and the pole",
        f"  enter A7 at {sites[-1]} on the ground, reaching nothing",
        '  work "change arms"',
        "  leave all",
        "stage remove",
    ]
    for i, site in reversed(list(enumerate(sites))):
        rows += [
            f"  detach LEAD-{i}-{j} from {site} {points[(j - 1) % 5]} by H1, then from K{i}"
            for j in range(each - 1, 0, -1)
        ]
        rows += [f"  detach LEAD-{i}-0 from K{i}, then from R{i}"]
    return "\n".join(rows) + "\n"


EVIL = (
    "<script>alert(1)</script>",
    "</title></svg><svg onload=alert(1)>",
    "\" onmouseover='alert(1)' x=\"",
    "{{ 7*7 }}{% raw %}&amp;&#60;b&#62;",
    "--><!--]]>",
    "\u202eright to left override שלום مرحبا",
    "👷‍♀️⚡ emoji",
    "a" * 300,
    "control \x01\x0b\x1b\x7f end",
)
"""Texts that want to be markup, or to upset a page."""


def hostile_plan() -> str:
    """A plan whose texts are all of that kind; quotes cannot stand in a text of the language."""
    texts = [text.replace('"', "'") for text in EVIL]
    rows = [f'plan "{texts[0]} {texts[5]} {texts[6]}"']
    rows += [f'caution "{text}"' for text in texts]
    rows += [f'emergency "{text}"' for text in texts[:4]]
    rows += ["line L", "  phases A B C", "  no neutral", "  route S1 (50 m) S2", "source U beyond S1"]
    rows += ["structure S1 S2 wood pole", "bar K1", "lead G1 2/0 copper 25 ft", "stick H1 8 ft", "crew lineman Ольга"]
    rows += [f'waive no-such-rule because "{texts[1]}" by "{texts[2]}" until 2026-12-31']
    rows += [f'stage "{texts[3]}"', "  mount K1 at S1 below the feet", "  attach G1 to K1, then to S1 A by H1"]
    rows += [f'  hold "{text}"' for text in texts]
    rows += [f'  note "{text}"' for text in texts]
    rows += [
        "  enter Ольга at S1 on the pole, reaching A and the pole",
        f'  work "{texts[4]}"',
        f'  work "{"long " * 700}"',
    ]
    rows += ["  this line is <b>not</b> read"]
    return "\n".join(rows) + "\n"

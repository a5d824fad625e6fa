"""Sound plans in great variety: each protects its crew in a way that the rulebooks accept, and says so in its own way.

``sound_plan(seed)`` is the text; ``draft(seed)`` the rows that it is made of. The steps are those of `groundlint draft`
by choices drawn at random; what a crew may do beside them is put in, and all is said in the words of the plan.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Any

from houses import house
from plan_rows import BODY, HEAD, ROUTINE, STAGE, STEP, Draft, Layout, Row, row
from sound_sites import Site, crew, equipment, headers, line, ranged, site, sources, surroundings

from groundlint.drafting.job import Job, job
from groundlint.drafting.policy import Choices
from groundlint.plan.models import Plan
from groundlint.reading import read_plan
from groundlint.text import Source

PLAIN = Layout(number="")
MANY = {"lead": 80, "rod": 9, "bar": 9}
"""Equipment to choose from; what no step takes is not in the plan."""
STATES = {"requested": "request", "received": "receive", "released": "release", "transferred": "transfer"}
SWITCHING = ("open ", "verify ", "lock ", "tag ", "disable ")

Lines = list[tuple[str, str]]
"""Steps and headings: of which kind of row, and in canonical words."""


def sound_plan(seed: int) -> str:
    """The text of a sound plan; the same for the same seed."""
    return draft(seed).text()


def draft(seed: int) -> Draft:
    """A sound plan as rows; the same for the same seed."""
    rng = Random(f"sound plan {seed}")
    this = site(rng)
    declared = _declared(this)
    choices = _house(this)
    plan = read_plan(Source("head.tpg", Draft(tuple(declared), PLAIN, {}).text())).plan
    assert not plan.unread, Draft(tuple(declared), PLAIN, {}).text()
    made = job(plan, [plan.route[at] for at in this.works], choices)
    assert not made.lacks, made.lacks
    steps = _Beside(this, choices, plan, made).lines
    declared = _taken(declared, steps, rng)
    _open_value(declared, rng)
    if rng.random() < 0.1:
        declared = [one.with_(access="") if one.verb == "method" else one for one in declared]
    rows = [row(sort, _verb(words), "{words}", words=_said(words, this)) for sort, words in steps]
    numbered = rng.random() < 0.9
    layout = Layout(
        number=rng.choice(("{}. ", "{}) ", "{:>2}. ")) if numbered else "",
        capital=rng.random() < 0.2,
        indent=rng.choice((0, 2, 2, 4)),
        keyword=rng.choice((0, 9, 10)),
        comments=rng.randint(1, 10**6) if rng.random() < 0.4 else 0,
        wrap=rng.random() < 0.15,
    )
    return Draft((*declared, *rows), layout, {"numbered": numbered, **_about(this, choices, steps)})


def head(seed: int) -> tuple[str, Site]:
    """A head with more equipment than its steps can take, and its site."""
    this = site(Random(f"sound plan {seed}"))
    return Draft(tuple(_declared(this)), PLAIN, {}).text(), this


# ------------------------------------------------------------------------------ the head
def _declared(this: Site) -> list[Row]:
    """All that stands before the steps, with more equipment than they take."""
    rng = this.rng
    dated = date(2026, 1, 5) + timedelta(days=rng.randint(0, 300))
    rods, bars, leads = ([f"{stem}{n}" for n in range(1, MANY[kind] + 1)] for kind, stem in STEMS)
    people, feeds, around = crew(this), sources(this), surroundings(this)
    tools = equipment(this, dated, rods, bars, leads)
    blocks = [line(this), feeds, around, tools, people]
    if rng.random() < 0.25:
        blocks = [line(this), around, feeds, people, tools]
    return [*headers(this, dated), *(one for block in blocks for one in block)]


STEMS = (("rod", "R"), ("bar", "K"), ("lead", "G"))


def _taken(declared: list[Row], steps: Lines, rng: Random) -> list[Row]:
    """The head with the equipment that the steps take; leads in one statement or two."""
    words = {name for _, text in steps for name in _names_in(text)}
    found = []
    left = [f"G{n}" for n in range(1, MANY["lead"] + 1) if f"G{n}" in words]
    last = [at for at, one in enumerate(declared) if one.verb == "lead"][-1]
    for at, one in enumerate(declared):
        if one.verb == "lead":
            names = left if at == last else left[: rng.randint(1, len(left))]
            left = left[len(names) :]
            one = one.with_(names=" ".join(names) if rng.random() < 0.5 else ranged(names)) if names else None
        elif one.verb in ("rod", "bar"):
            names = [name for name in one["names"].split() if name in words]
            one = one.with_(names=" ".join(names)) if names else None
        found += [one] if one is not None else []
    return found


def _every(found: re.Match[str]) -> str:
    """Each name of a range."""
    one, other = (int(end) for end in re.findall(r"\d+", found[0]))
    return " ".join(f"G{n}" for n in range(one, other + 1))


def _names_in(text: str) -> set[str]:
    """The words of a line, with the names that a range stands for."""
    ranges = re.findall(r"\bG(\d+)\.\.G(\d+)\b", text)
    return set(re.findall(r"\w+", text)) | {f"G{n}" for one, other in ranges for n in range(int(one), int(other) + 1)}


def _open_value(declared: list[Row], rng: Random) -> None:
    """Sometimes the soil is left open, with a default, so that the plan serves many sites."""
    if rng.random() < 0.12:
        at = next(place for place, one in enumerate(declared) if one.verb == "soil")
        amount = declared[at]["amount"]
        declared[at] = declared[at].with_(amount="given soil-here")
        declared.insert(
            3, row(HEAD, "given", "given {name} as resistivity default {amount}", name="soil-here", amount=amount)
        )


# ------------------------------------------------------------------------------ the steps
def _house(this: Site) -> Choices:
    """Choices at random, those seldom that make a plan long; a rod no farther than a lead reaches."""
    rng = this.rng
    drawn = house(rng, metric=this.metric)
    far = {"rod_away": this.length(16, 5)} if this.lead[0] < 20 else {}
    return replace(drawn, side_by_side=rng.random() < 0.05, gloves=rng.random() < 0.2, **far)


class _Beside:
    """The steps of a job, with what a crew may do beside them."""

    def __init__(self, this: Site, choices: Choices, plan: Plan, made: Job) -> None:
        self.rng, self.site, self.choices, self.plan = this.rng, this, choices, plan
        self.lines: Lines = []
        for title, body in made.routines:
            self.lines += [(ROUTINE, title), *((BODY, one) for one in body)]
        for stage in made.stages:
            self.lines += [(STAGE, f"stage {stage.title}"), *((STEP, one) for one in stage.steps)]
        words = [words for _, words in self.lines]
        used = {name for one in words for name in _names_in(one)}
        self.spare = iter([name for name in (f"G{n}" for n in range(1, MANY["lead"] + 1)) if name not in used])
        self._isolating()
        for at in this.works:
            self._working(this.structures[at])
        self._releasing()

    def _places(self, pattern: str) -> list[int]:
        return [at for at, (sort, words) in enumerate(self.lines) if sort == STEP and re.match(pattern, words)]

    def _put(self, at: int, *words: str) -> None:
        self.lines[at:at] = [(STEP, one) for one in words]

    def _isolating(self) -> None:
        rng, this = self.rng, self.site
        switching = [at for at in self._places("|".join(SWITCHING)) if at < self._places("clearance .* received")[0]]
        there = re.compile(rf"(?<![\w-]){re.escape(this.structures[0])}(?![\w-])")
        idle = not any(there.search(words) for _, words in self.lines)
        if idle and self.choices.briefing == "first" and not this.bucket and rng.random() < 0.2:
            who, at = this.people[0][0], this.structures[0]  # whoever works the handle wears gloves for it
            self._put(switching[-1] + 1, f"leave {who}")
            handle = f"enter {who} at {at} on the ground, reaching SW01 handle"
            self._put(switching[0], f"gloves on {who}", handle)
        received = self._places("clearance .* received")[0]
        holders = [name for name, role in this.people if role in ("foreman", this.say.lineman)]
        self.holder = self.lines[received][1].split()[-1]
        others = [name for name in holders if name != self.holder]
        self.second = rng.choice(others) if others and rng.random() < 0.15 else ""
        if self.second:
            self._put(received + 1, f"clearance {this.line} received by {self.second}")
        end = next(at for at, (sort, words) in enumerate(self.lines) if sort == STAGE and words != "stage isolate")
        if rng.random() < 0.15:
            self._put(end, 'note "radio check with the operator"')
        if rng.random() < 0.1:
            self._put(end, "inspect H1 D1")

    def _working(self, structure: str) -> None:
        rng, this = self.rng, self.site
        enter = next(at for at in self._places(f"enter .* at {re.escape(structure)} .*reaching (?!nothing|SW)"))
        enter -= self.lines[enter - 1][1].startswith("gloves on")
        grounded = any(
            re.search(rf"\bat {re.escape(structure)}\b|\({re.escape(structure)},", w) for _, w in self.lines[:enter]
        )
        phase = this.phases[self.choices.phases[0] - 1]
        cut = grounded and rng.random() < 0.12 and not self.choices.one_by_one
        set_here = not this.dual
        before: list[str] = []
        if cut:
            lead = next(self.spare)
            before += [f"inspect {lead}", f"clean {structure} {phase}"]
            before.append(f"bond across {structure} {phase} with {lead} by H1")
        if set_here and rng.random() < 0.25:
            before.append(f"certify grounds at {structure}")
        # nothing is pulled past a bare live part, nor at an end, beside the live side of an open point
        apart = set_here and not this.bare and structure not in (this.structures[0], this.structures[-1])
        strung = apart and not self.choices.one_by_one and rng.random() < 0.1
        if strung:
            before.append(f"string {structure} {phase}")
        self._put(enter, *before)
        work = next(at for at in self._places("work ") if at > enter)
        leave = next(at for at in self._places("leave ") if at > work)
        who, where, reach = re.match(r"enter (.*?) at (.*), reaching (.*)", self._entered(enter)).groups()  # type: ignore[union-attr]
        climbers, reached = who.split(), reach.split(" ")
        if cut:
            self._put(leave + 1, f"unbond {structure} {phase} by H1")
        if rng.random() < 0.15:
            fewer = [one for one in reached if one not in this.phases[1:] or one == phase]
            self._put(leave, f"move {climbers[0]} at {where}, reaching {' '.join(fewer)}")
        if rng.random() < 0.1:
            self._put(leave, "wait 10 min")
        if cut:
            self._put(work + 1, f"cut {structure} {phase}", f"join {structure} {phase}")
        by = f" by {climbers[0]}" if rng.random() < 0.2 else ""
        self.lines[work] = (STEP, f"{self.lines[work][1]}{by}" + (f" at {structure}" if rng.random() < 0.2 else ""))
        if rng.random() < 0.1:
            self._put(work, 'replan "the arm is split; it is changed as well"', "brief all")
        if not cut and not strung and rng.random() < 0.15:
            self._lifted(structure, next(at for at in self._places("leave ") if at > work) + 1)

    def _entered(self, at: int) -> str:
        return next(
            words for _, words in self.lines[at:] if words.startswith("enter ") and "reaching nothing" not in words
        )

    def _lifted(self, structure: str, at: int) -> None:
        """The last phase's lead off for a test, and back."""
        clamp = rf"attach (\S+) to .*, then to ({re.escape(structure)} (?:{'|'.join(self.site.phases)})) by H1$"
        found = [match for sort, words in self.lines if sort == STEP and (match := re.match(clamp, words))]
        if found:
            lead, point = found[-1].groups()
            why = 'protected by "nobody up while it is off" for "insulation test"'
            self._put(at, f"lift {lead} from {point} by H1, {why}", f"restore {lead} to {point} by H1")

    def _releasing(self) -> None:
        rng, this = self.rng, self.site
        released = self._places("clearance .* released")[0]
        others = [
            name
            for name, role in this.people
            if name not in (self.holder, self.second) and role in ("foreman", this.say.lineman)
        ]
        if self.second:
            self._put(released, f"clearance {this.line} released by {self.second}")
        elif others and rng.random() < 0.25:  # one goes off shift and another gives the clearance back
            taker = rng.choice(others)
            self.lines[released] = (STEP, f"clearance {this.line} released by {taker}")
            told = "operator told, crew told"
            self._put(released, f"clearance {this.line} transferred by {self.holder} to {taker}, {told}")


def _verb(words: str) -> str:
    """What kind of step a line is."""
    verb, _, rest = words.partition(" ")
    if verb == "clearance":
        return next(kind for state, kind in STATES.items() if f" {state}" in rest)
    return "bond_across" if words.startswith("bond across") else verb


# ------------------------------------------------------------------------------ in the plan's words
def _said(words: str, this: Site) -> str:
    """A line in the words of the plan; what stands in quotes stays."""
    text, quote, rest = words.partition('"')
    say, pick = this.say, this.rng.choice
    verb, _, more = text.partition(" ")
    changes = {
        "attach": say.attach,
        "detach": say.detach,
        "set": say.set,
        "clearance": say.clearance,
        "join": say.join,
        "hold": say.hold,
        "discharge": pick(("discharge", "short-circuit")),
    }
    text = f"{changes.get(verb, verb)} {more}"
    if verb == "test":
        text = re.sub(r" on (H\d)$", pick((r" on \1", r" on \1 finding dead", rf" {say.by} \1")), text)
    text = re.sub(r"(?<!protected) by (?!hand)", f" {say.by} ", text)
    text = text.replace("pole ground", say.pole_ground)
    text = re.sub(r"\bground\b(?=,| reaching)", say.ground, text)
    text = text.replace("below the feet", say.feet)
    if verb == "open":
        text = text.replace("gap seen", pick(("gap seen", "seen open"))).replace("lock it, tag it", pick(LOCKED))
    elif verb == "verify":
        text = text.removesuffix(pick(("", " is open")))
    elif verb in ("block", "unblock"):
        text = text.replace(" on ", pick((" on ", " ")), 1)
    elif verb == "disconnect":
        text = text.replace("capacitor ", pick(("capacitor ", "capacitor bank ")))
    elif verb == "wait" and "5 min" in text:
        text = f"wait {pick(('5 min', '6 min', '10 min', '300 s'))}"
    elif verb in ("enter", "move"):
        text = text.replace("on the pole", f"on the {pick(('pole', 'structure'))}")
        text = re.sub(r" (pole|steel)$", pick((r" the \1", r" and the \1", r" \1")), text)
    elif verb == "inspect" and this.rng.random() < 0.4:
        text = re.sub(r"G\d+\.\.G\d+", _every, text)
    elif verb == "clearance" and "request" not in text and this.rng.random() < 0.3:
        text = text.replace(f"{this.line} ", "")
    elif verb == "hold" and text.startswith(("hold until", "stop")):
        rest = rest.removeprefix("until ")
    return f"{text}{quote}{rest}"


LOCKED = ("lock it, tag it", "lock it and tag it", "lock it tag it")


def _about(this: Site, choices: Choices, steps: Lines) -> dict[str, Any]:
    """What a plan is like, for tests that ask whether plans differ."""
    words = "\n".join(text for _, text in steps)
    rod, ground = (
        re.search(r"^set \S+ at .*\nbarricade", words, re.M),
        re.search(r"^attach .* pole ground", words, re.M),
    )
    many = "neutral" if this.earthing == "multigrounded" else ""
    near = {"set": "personal", "lead": "one"}.get(choices.at_work, choices.at_work if this.bucket else "personal")
    return {
        "dual": this.dual,
        "small": this.small,
        "material": this.material,
        "neutral": this.earthing or "none",
        "access": "bucket" if this.bucket else "steel" if this.material == "steel" else "pole",
        "shield": bool(this.shield),
        "sources": len(this.sources),
        "structures": len(this.structures),
        "works": len(this.works),
        "crew": len(this.people),
        "routines": choices.routines,
        "earth": this.say.earth,
        "metric": this.metric,
        "phases": " ".join(this.phases),
        "electrode": "steel" if this.material == "steel" else "rod" if rod else "pole ground" if ground else many,
        "start": "bar" if "mount " in words else "steel" if this.material == "steel" else "neutral",
        "topology": choices.leads,
        "near": near if this.dual else "",
        "site": this,
    }

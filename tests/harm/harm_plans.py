"""Plans that are not known to be sound: sound ones with one to six steps dropped, swapped, moved, doubled, reworded or
weakened; skeletons that whole parts of the job are missing from; and random steps over a plan's things.

``unsound(seed, index)`` is the text, the same for the same numbers. Steps carry no numbers, which would give a moved
one away.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from random import Random

from crowd import reviewed
from plan_rows import BODY, STEP
from sound_plans import draft

HEAD = "head"
ROOT = Path(__file__).parents[2]
TOGETHER = 12
"""Plans made of one sound plan."""


@dataclass(frozen=True)
class Sheet:
    """A plan as lines: what each is (head, body of a routine, step), and its words."""

    lines: tuple[tuple[str, str], ...]

    def text(self) -> str:
        return "\n".join(f"  {words}" if sort == BODY else words for sort, words in self.lines) + "\n"

    def places(self, verb: str = "", *, sort: str = STEP) -> list[int]:
        """Where lines stand: steps, or of one verb (a regular expression)."""
        found = re.compile(rf"(?:{verb})\b") if verb else None
        return [at for at, (kind, words) in enumerate(self.lines) if kind == sort and (not found or found.match(words))]

    def put(self, at: int, *words: str) -> Sheet:
        """Other lines in the place of one, as steps of the same kind."""
        kind = self.lines[at][0]
        return Sheet((*self.lines[:at], *((kind, one) for one in words), *self.lines[at + 1 :]))

    def insert(self, at: int, words: str) -> Sheet:
        """A step put in before a line."""
        return Sheet((*self.lines[:at], (STEP, words), *self.lines[at:]))


# ------------------------------------------------------------------------------ sound plans to start from
def written(text: str) -> Sheet:
    """The sheet of a plan's text: no comments, no numbers, one statement a line."""
    lines: list[tuple[str, str]] = []
    sort, joined = HEAD, ""
    for raw in text.splitlines():
        indented = raw[:1] in " \t"
        words = re.sub(r'(^|\s)#\s(?=(?:[^"]*"[^"]*")*[^"]*$).*', "", raw).strip()
        if not words or words.startswith("#"):
            continue
        bare = re.sub(r"^\d+[a-z]?[.)]\s+", "", words)
        if sort == HEAD and (bare != words or re.match(r"(?:brief|tailboard|tailgate)\b", bare)):  # without stages
            sort = STEP
        words = joined + bare
        joined = f"{words} " if words.endswith(",") else ""
        if joined:
            continue
        first = words.split()[0].lower()
        if first == "stage":
            sort = STEP
            lines.append((HEAD, words))
            continue
        if first == "routine":
            sort = BODY
            lines.append((HEAD, words))
            continue
        if sort == BODY and not indented:
            sort = HEAD
        lines.append((sort, re.sub(r"\s+", " ", words) if '"' not in words else words))
    return Sheet(tuple(lines))


KINDS = {
    "leads": r"leads?|earthing-leads?",
    "bars": r"bars?|cluster-bars?",
    "rods": r"rods?|earth-rods?|ground-rods?",
    "vehicles": r"vehicles?",
    "neighbours": r"neighbou?rs?",
    "switches": r"switch|disconnect|disconnector|breaker|recloser|cutout|fuse|elbow|jumper",
    "sources": r"source",
    "sticks": r"sticks?|operating-poles?",
    "detectors": r"detectors?|voltage-indicators?",
}

SOUND = tuple(sorted((ROOT / "tests" / "sound").glob("*.tpg")))
EXAMPLES = tuple(path for path in sorted((ROOT / "examples").glob("*.tpg")) if not path.stem.startswith("deliberate"))
HANDMADE = tuple(
    path for path in (*SOUND, *EXAMPLES) if not re.search(r"^use\b", path.read_text(encoding="utf-8"), re.MULTILINE)
)


@lru_cache(maxsize=100)
def by_hand(path: Path) -> Sheet | None:
    """A plan written by hand, where its review is clean."""
    sheet = with_spares(written(path.read_text(encoding="utf-8")))
    return sheet if reviewed(sheet.text()).status() == 0 else None


@lru_cache(maxsize=4)
def home(number: int) -> Sheet:
    """A sound plan to spoil: of the generator, or one in three written by hand; with leads to spare."""
    if number % 3 == 2:
        turns = (HANDMADE[(number // 3 + more) % len(HANDMADE)] for more in range(len(HANDMADE)))
        return next(sheet for path in turns if (sheet := by_hand(path)))
    drafts = (draft(number * 100 + more) for more in range(100))
    one = next(made for made in drafts if len(made.rows) < LONGEST and (number % 2 == 0 or not made.about["dual"]))
    plain = replace(one, layout=replace(one.layout, number="", comments=0, wrap=False, capital=False, keyword=0))
    sorts = {STEP: STEP, BODY: BODY}
    return with_spares(Sheet(tuple((sorts.get(row.sort, HEAD), row.words()) for row in plain.rows)))


LONGEST = 85
"""Rows of a generated plan; a longer one takes longer to review and shows no more."""

SPARES = "X91 X92 X93"


def with_spares(sheet: Sheet) -> Sheet:
    """With leads like its own that nothing needs, looked over like them, for strays to use."""
    leads = [at for at, (_sort, words) in enumerate(sheet.lines) if re.match(KINDS["leads"], words)]
    at = leads[-1] if leads else next(at for at, (_sort, words) in enumerate(sheet.lines) if words.startswith("crew"))
    lead = sheet.lines[at][1] if leads else "lead"
    spec = re.search(r"\S+ (?:mm2 |kcmil )?copper.*", lead)
    first = sheet.places()[0]
    lines = list(sheet.lines)
    lines.insert(first, (STEP, f"inspect {SPARES}"))
    lines.insert(at, (HEAD, f"{lead.split()[0]} {SPARES} {spec[0] if spec else '4/0 copper 25 ft grade 5'}"))
    return Sheet(tuple(lines))


# ------------------------------------------------------------------------------ names in a sheet
@dataclass(frozen=True)
class Names:
    """What a sheet names, by kind."""

    structures: tuple[str, ...]
    phases: tuple[str, ...]
    conductors: tuple[str, ...]
    leads: tuple[str, ...]
    bars: tuple[str, ...]
    rods: tuple[str, ...]
    people: tuple[str, ...]
    vehicles: tuple[str, ...]
    neighbours: tuple[str, ...]
    switches: tuple[str, ...]
    sources: tuple[str, ...]
    sticks: tuple[str, ...]
    detectors: tuple[str, ...]


def spread(words: list[str]) -> list[str]:
    """Names with ranges written out, up to the first word that is none."""
    found: list[str] = []
    for word in words:
        word = word.strip(",:")
        run = re.fullmatch(r"(\D*)(\d+)\.\.(?:\1)?(\d+)", word)
        if run:
            found += [f"{run[1]}{number:0{len(run[2])}d}" for number in range(int(run[2]), int(run[3]) + 1)]
        elif re.fullmatch(r"[A-Z][\w-]*|\d+-\d+|\d{1,4}", word) and word not in ("AWG",):
            found.append(word)
        else:
            break
    return found


@lru_cache(maxsize=8)
def names_of(sheet: Sheet) -> Names:
    """The names that stand in a sheet's head."""
    found: dict[str, list[str]] = {kind: [] for kind in (*KINDS, "structures", "phases", "conductors", "people")}
    for sort, words in sheet.lines:
        if sort != HEAD:
            continue
        parts = words.split()
        for kind, verb in KINDS.items():
            if re.fullmatch(verb, parts[0]):
                found[kind] += spread(parts[1:])
        if parts[0] == "route":
            found["structures"] += re.sub(r"\([^)]*\)", "", words).split()[1:]
        if parts[0] in ("phases", "phase"):
            found["phases"] += parts[1:]
        if parts[0] == "neutral" or re.match(r"shield|earthwire|earth-wire|overhead-ground-wire", parts[0]):
            found["conductors"].append(parts[1])
        if parts[0] == "crew":
            roles = (
                r"lineman|linesman|lineworker|groundman|groundworker|foreman|supervisor|apprentice|operator|observer"
            )
            tail = re.sub(r"^crew(\s+\w+:)?", "", words)
            found["people"] += re.findall(r"[A-Z]\w*", re.sub(roles, "", tail))
    found["conductors"] = found["phases"] + found["conductors"]
    return Names(**{kind: tuple(dict.fromkeys(words)) for kind, words in found.items()})


# ------------------------------------------------------------------------------ ways to spoil
Way = Callable[[Sheet, Names, Random], "Sheet | None"]
WAYS: list[tuple[int, Way]] = []


def way(weight: int) -> Callable[[Way], Way]:
    def take(one: Way) -> Way:
        WAYS.append((weight, one))
        return one

    return take


def any_step(sheet: Sheet, rng: Random) -> int:
    """A step, or now and then a line of a routine."""
    body = sheet.places(sort=BODY)
    return rng.choice(body if body and rng.random() < 0.25 else sheet.places() or [len(sheet.lines) - 1])


@way(6)
def dropped(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    return sheet.put(any_step(sheet, rng))


@way(3)
def moved(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    steps = sheet.places()
    at, to = rng.choice(steps), rng.choice(steps)
    lines = list(sheet.lines)
    lines.insert(to, lines.pop(at))
    return Sheet(tuple(lines))


@way(2)
def swapped(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    steps = sheet.places()
    at = rng.randrange(len(steps) - 1)
    one, other = steps[at], steps[min(at + rng.choice((1, 1, 1, 2, 5)), len(steps) - 1)]
    lines = list(sheet.lines)
    lines[one], lines[other] = lines[other], lines[one]
    return Sheet(tuple(lines))


@way(2)
def doubled(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    steps = sheet.places()
    at, to = rng.choice(steps), rng.choice(steps)
    return sheet.insert(to, sheet.lines[at][1])


ATTACH = r"(?:attach|apply|connect)"
DETACH = r"(?:detach|remove)"


@way(6)
def bonded(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    """A lead goes on by a bond, and comes off by one where its end is found."""
    found = []
    for at in (*sheet.places(ATTACH), *sheet.places(ATTACH, sort=BODY)):
        m = re.fullmatch(
            rf"{ATTACH}\s+(\S+) to (.+?)( (?:by|using) \S+)?, then to (.+?)( (?:by|using) \S+)?", sheet.lines[at][1]
        )
        if m:
            found.append((at, m))
    if not found:
        return None
    at, m = rng.choice(found)
    lead, one, other, how = m[1], m[2], m[4], m[5] or ""
    how = rng.choice((how, how, how, " by hand"))
    first, second = (other, one) if rng.random() < 0.7 else (one, other)
    sheet = sheet.put(at, f"bond {first} to {second} with {lead}{how}")
    if rng.random() < 0.8:
        for off in sheet.places(rf"{DETACH}\s+{lead}"):
            words = sheet.lines[off][1]
            if re.search(rf"from {re.escape(first)}\b", words):
                return sheet.put(off, f"unbond {first}{how if how != ' by hand' or rng.random() < 0.5 else ''}")
    return sheet


@way(3)
def entered_by_move(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    """Somebody enters early, where there is nothing in reach, and moves to where the plan has them enter."""
    enters = sheet.places(r"enter")
    if not enters:
        return None
    at = rng.choice(enters)
    m = re.match(r"enter\s+(\S+(?: [A-Z]\S*)*?) at (\S+)", sheet.lines[at][1])
    if not m:
        return None
    sheet = sheet.put(at, re.sub(r"^enter", "move", sheet.lines[at][1]))
    steps = [one for one in sheet.places() if one <= at]
    stand = rng.choice(("on the ground", "on the pole"))
    reach = rng.choice(("reaching nothing", "reaching nothing", "reaching the pole"))
    return sheet.insert(rng.choice(steps), f"enter {m[1]} at {m[2]} {stand}, {reach}")


@way(3)
def moved_on(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    """Somebody moves, after they entered, to another place or to reach something else."""
    enters = sheet.places(r"enter|move")
    if not enters:
        return None
    at = rng.choice(enters)
    m = re.match(r"(?:enter|move)\s+(\S+)", sheet.lines[at][1])
    if m is None:
        return None
    after = [one for one in sheet.places() if one > at]
    where = rng.choice(names.structures)
    stand = rng.choice(("on the pole", "on the ground", *(f"in {one}" for one in names.vehicles)))
    line = f"move {m[1]} at {where} {stand}, reaching {reach_of(names, where, rng)}"
    return sheet.insert(rng.choice(after[:6] or [at + 1]), line)


def reach_of(names: Names, where: str, rng: Random) -> str:
    if rng.random() < 0.25:
        return "nothing"
    wires = rng.sample(names.conductors, rng.randint(0, min(3, len(names.conductors))))
    more = [*names.rods[:1], *names.bars[:1], *names.vehicles[:1], "the pole", "the guy", *names.neighbours[:1]]
    extra = rng.sample(more, rng.choice((0, 0, 1, 1, 2)))
    return " ".join([*wires, *extra]) or "the pole"


@way(5)
def weakened(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    """One word of a step says less, or something else."""
    at = any_step(sheet, rng)
    words = sheet.lines[at][1]
    changes: list[str] = []
    stick = re.search(r" (by|using|on) (" + "|".join(map(re.escape, names.sticks or ("H1",))) + r")\b", words)
    if stick:
        changes += [
            words[: stick.start()] + " by hand" + words[stick.end() :],
            words[: stick.start()] + words[stick.end() :],
        ]
    if words.startswith("test"):
        parts = words.split()
        at_wires = [place for place, part in enumerate(parts) if part.strip(",") in names.conductors]
        if len(at_wires) > 1:
            gone = rng.choice(at_wires)
            changes.append(" ".join(part for place, part in enumerate(parts) if place != gone))
        changes.append(re.sub(r",? finding dead$", "", words) + ", finding live")
        changes.append(re.sub(r"with \S+", "improvised", words))
        changes.append(re.sub(r"^test \S+", f"test {rng.choice(names.structures)}", words))
    if words.startswith(("enter", "move")):
        parts = words.split("reaching ")
        if len(parts) == 2:
            changes += [
                f"{parts[0]}reaching nothing",
                f"{parts[0]}reaching the pole",
                f"{parts[0]}reaching {reach_of(names, '', rng)}",
            ]
            changes.append(re.sub(r"(on|in) (the )?\w+, reaching", "on the ground, reaching", words))
    if words.startswith("open"):
        changes += [re.sub(r",? lock it", "", words), re.sub(r",? and tag it|,? tag it", "", words)]
    if words.startswith("work"):
        changes += [
            re.sub(r'(" ?.*)$', f'" by {rng.choice(names.people)}', words),
            words + f" at {rng.choice(names.structures)}",
        ]
        changes = [re.sub(r"by (\S+) by", "by", re.sub(r"at (\S+) at", "at", one)) for one in changes]
    if words.startswith("wait"):
        changes += ["wait 14 h", "wait 1 min"]
    if words.startswith("leave"):
        changes += [f"leave {rng.choice(names.people)}"]
    if re.match(r"(?:do|undo|repeat)\b", words):
        changes += [re.sub(r"\(\S+,", f"({rng.choice(names.structures)},", words)]
    changes.append(
        re.sub(
            r"\b(" + "|".join(map(re.escape, names.structures)) + r")\b", rng.choice(names.structures), words, count=1
        )
    )
    changes = [one for one in changes if one != words]
    return sheet.put(at, rng.choice(changes)) if changes else None


@way(9)
def put_in(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    """A step that takes a protection away, or brings a danger, somewhere in the plan."""
    steps = sheet.places()
    return sheet.insert(rng.choice(steps), stray(names, rng))


def stray(names: Names, rng: Random) -> str:
    """A step of any kind, of the things that the plan has."""
    pick = rng.choice
    where, phase, who = pick(names.structures), pick(names.conductors), pick(names.people)
    lead = pick(SPARES.split()) if rng.random() < 0.6 else pick(names.leads)
    bar = pick(names.bars or (f"{where} {phase}",))
    rod, stick = pick(names.rods or (f"{where} pole ground",)), pick(names.sticks or ("H1",))
    truck, live = pick(names.vehicles or (rod,)), pick(names.neighbours or (rod,))
    switch, source = pick(names.switches or ("SW1",)), pick(names.sources or ("West",))
    detector = pick(names.detectors or ("D1",))
    how = pick((f" by {stick}", f" by {stick}", " by hand", ""))
    point = pick(
        (f"{where} {phase}", f"{where} {phase}", bar, rod, truck, f"{where} guy", f"{where} pole ground", live)
    )
    other = pick((f"{where} {pick(names.conductors)}", bar, rod, f"{where} guy", truck, live))
    stand = pick(("on the pole", "on the pole", "on the ground", f"in {truck}"))
    forms = (
        f"unbond {point}{how}",
        f"bond {point} to {other} with {lead}{how}",
        f"bond {where} {phase} to {bar} with {lead}{how}",
        f"bond across {where} {phase} with {lead}{how}",
        f"attach {lead} to {bar}, then to {where} {phase}{how}",
        f"attach {lead} to {where} {phase}{how}, then to {bar}",
        f"attach {lead} to {point}{how}",
        f"detach {lead} from {where} {phase}{how}, then from {bar}",
        f"detach {lead} from {point}{how}",
        f'lift {lead} from {where} {phase}{how} for "test" protected by "nobody up"',
        f"restore {lead} to {where} {phase}{how}",
        f"unbarricade {pick((rod, truck))}",
        f"uncover {live}",
        f"cover {live}",
        f"untag {switch}",
        f"close {switch} by {who}",
        f"close {switch}",
        f"open {switch}",
        f"unblock reclosing on {source}",
        f"park {truck} at {where}",
        f"string {where} {phase}",
        f"downed {where} {phase}",
        f"cut {where} {phase}",
        f"join {where} {phase}",
        f"shock {who}",
        pick(("wait 14 h", "wait 2 min", "wait 60 h")),
        f"gloves {pick(('on', 'off'))} {who}",
        f"leave {who}",
        "leave all",
        f"enter {who} at {where} {stand}, reaching {reach_of(names, where, rng)}",
        f"move {who} at {where} {stand}, reaching {reach_of(names, where, rng)}",
        f'work "tie in" by {who}',
        'work "tie in"',
        f'work "tie in" at {where}',
        f'work "tie in" by {who} touching {reach_of(names, where, rng)}'.replace("touching nothing", ""),
        f"pull {rod}",
        "pause overnight",
        f"dismount {bar}",
        f"set {rod} at {where}, 20 ft from the pole, 8 ft deep",
        f"test {where} {phase} with {detector} on {stick}, finding {pick(('live', 'dead'))}",
        f"prove {detector} on T1",
        f"prove {detector} on live {where} {phase}",
        f"clearance {pick(('released', 'received'))} by {who}",
        f"certify {pick(('grounds', 'dead'))} at {where} by {who}",
        f"clean {where} {phase}",
        f"mount {bar} at {where} below the feet",
        'replan "another arm"',
    )
    return pick(forms)


@way(2)
def changed_head(sheet: Sheet, names: Names, rng: Random) -> Sheet | None:
    """A thing is declared otherwise."""
    heads = sheet.places(sort=HEAD)
    at = rng.choice(heads)
    words = sheet.lines[at][1]
    one, other = rng.sample(names.structures, 2)
    changes = []
    if re.match(KINDS["switches"], words):
        changes += [re.sub(r"between \S+ and \S+", f"between {one} and {other}", words)]
        changes += [
            re.sub(r"(between \S+ and) \S+", rf"\1 {other}", words),
            f"{words} open".replace(" closed open", " open"),
        ]
    if re.match(KINDS["detectors"], words):
        changes.append(re.sub(r"for .*? to \S+ k?V", rng.choice(("for 40 kV to 161 kV", "for 50 V to 600 V")), words))
    if re.match(KINDS["sticks"], words):
        changes.append(re.sub(r"\d[\d.]* (ft|m)", "1 ft", words))
    if re.match(KINDS["leads"], words):
        changes.append(re.sub(r"\S+ (mm2 |kcmil )?copper", "6 AWG copper", words))
    if re.match(KINDS["vehicles"], words):
        changes.append(words.replace("insulated", "uninsulated"))
    if re.match(r"no (live )?neighbou?r$", words):
        near = rng.choice(("0.5 m", "1.2 m", "9 m"))
        bare = f"neighbour Wire live 12 kV at {one}, {near} from {one} {names.phases[0]}, bare"
        changes = [f"{bare}\nno live neighbour but Wire"]
    if words.startswith("soil"):
        changes.append(f"{words}\ncapacitor CX at {one}")
    if words.startswith("source"):
        changes.append(re.sub(r"(beyond|at) \S+", f"at {one}", words))
    changes = [text for text in changes if text != words]
    if not changes:
        return None
    return Sheet(
        (*sheet.lines[:at], *((HEAD, text) for text in rng.choice(changes).split("\n")), *sheet.lines[at + 1 :])
    )


PARTS = (
    r"enter|move|leave",
    r"enter|move|leave",
    r"prove|test",
    rf"{ATTACH}|{DETACH}|mount|dismount|set|drive|barricade|unbarricade|clean|inspect|do|undo|repeat",
    rf"{ATTACH}|{DETACH}|mount|dismount|set|drive|barricade|unbarricade|clean|inspect|do|undo|repeat|prove|test",
    r"open|lock|tag|verify|untag|close|block|unblock",
    r"clearance|permit",
    r"work|hold",
    r"disconnect|discharge|wait",
    r"barricade|unbarricade|bond|unbond",
    r"cover|uncover",
    rf"{DETACH}|dismount|undo|unbond",
    r"brief",
)
"""Parts of a job, by the verbs of its steps, that a skeleton goes without."""


def skeleton(sheet: Sheet, rng: Random) -> Sheet:
    """The plan without one to three parts of the job."""
    for part in rng.sample(PARTS, rng.choice((1, 1, 2, 3))):
        gone = set(sheet.places(part))
        sheet = Sheet(tuple(line for at, line in enumerate(sheet.lines) if at not in gone))
    if rng.random() < 0.4:
        reach = rng.choice(("reaching nothing", "reaching the pole"))
        for at in sheet.places(r"enter|move"):
            sheet = sheet.put(at, re.sub(r"reaching .*", reach, sheet.lines[at][1]))
    return sheet


def strewn(sheet: Sheet, names: Names, rng: Random) -> Sheet:
    """Random steps over the plan's things: some of its own in their order, and strays among them."""
    steps = sheet.places()
    kept = {at for at in steps if rng.random() < rng.choice((0.3, 0.6, 0.8))}
    lines = [line for at, line in enumerate(sheet.lines) if at not in steps or at in kept]
    sheet = Sheet(tuple(lines))
    for _ in range(rng.randint(2, 12)):
        places = sheet.places() or [len(sheet.lines)]
        sheet = sheet.insert(rng.choice(places), stray(names, rng))
    return sheet


def unsound(seed: int, index: int) -> str:
    """A plan that is not known to be sound."""
    rng = Random(f"unsound {seed} {index}")
    sheet = home(seed * 100_003 + index // TOGETHER)
    names = names_of(sheet)
    draw = rng.random()
    if draw < 0.08:
        return strewn(sheet, names, rng).text()
    if draw < 0.25:
        sheet = skeleton(sheet, rng)
    ways, weights = [one for _, one in WAYS], [weight for weight, _ in WAYS]
    for _ in range(rng.choice((1, 1, 2, 2, 3, 4, 5, 6)) if draw >= 0.25 else rng.randint(0, 2)):
        if len(sheet.places()) > 2:
            spoiled = rng.choices(ways, weights)[0](sheet, names, rng)
            sheet = spoiled or sheet
    return sheet.text()

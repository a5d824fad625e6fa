"""Facts about the words in quotes of a step: whether they speak of what only a step of its own can say.

The words are common practice, no source. They are looked for, not understood: a few verbs beside the things that they
are said of, and no clause that denies.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from groundlint.facts.answers import Answer, Lines, here
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.sayings import FEED, GATE, GROUND, HERE, MAN, PLACE, SAYINGS, UP, WIRE
from groundlint.facts.trace import PlanTrace, named
from groundlint.plan.models import (
    Bar,
    Capacitor,
    Conductor,
    Equipment,
    Lead,
    LooseWire,
    Neighbour,
    ParallelCircuit,
    Person,
    Plan,
    PointRef,
    Rod,
    Rubber,
    Structure,
    SupplySource,
    Switch,
    Vehicle,
)
from groundlint.values import Unknown
from groundlint.world.logs import READING


def _among(words: str) -> frozenset[str]:
    """Words, parted by blanks."""
    return frozenset(words.split())


CLAUSES = re.compile(r"[.,;:]\s|[.,;:]$|\b(?:and|then|but)\b|\b(?=(?:whether|without|with (?:no|nobody|nothing))\b)")
"""Where a clause ends. What denies only what follows it begins one: `closes S1 to see whether it holds` closes it."""
WORD = re.compile(r"[\w.-]*\w")
NUMBERED = re.compile(r"\b[a-z]{1,5}-?[0-9]+[a-z]?\b")
"""A name as equipment has them. One that the plan gives to nothing may be a switch's."""
DENYING = _among("not no nobody never none without stay stays remain remains whether cannot")
STAYING_IN = re.compile(
    r"\b(?:stays?|remains?) (?=in(?:$|[.,;]| (?:until|till|for|while|all|today)\b)|closed|shut|made)"
)
"""That an open point stays closed denies nothing."""
CLOSING = _among("close closes closing closed reclose recloses reclosed shut shuts")
REFITTED = _among("fuse fuses barrel barrels elbow elbows")
"""What closes where it goes back: `put the fuses of CB33 back in`."""
OPEN_POINTS = (
    _among("switch switches disconnect disconnects disconnector breaker breakers recloser cutout cutouts tie")
    | REFITTED
)
REFITTING = re.compile(
    r"\b(?:puts?|places?|hangs?|plugs?|pushe?s?|swings?|slides?) .*\b(?:back|in)\b|\b(?:refits?|reinserts?)\b"
    r"|\b(?:fuses?|barrels?|elbows?) (?:(?:is|are|go|goes) )?back in(?:to)?\b"
)
GOING_IN = re.compile(
    r"\b(?:rack(?:s|ed)?|throws?|swings?|puts?|cuts?|switched)\b(?: .*)? in\b|\bgo(?:es)? (?:back )?in\b"
    r"|\bpick(?:s|ed)? up\b"
)
"""What is done to an open point that the clause names: racked, thrown or put in, load picked up by way of it."""
STRINGING = re.compile(r"\b(?:strings?|stringing|strung|pulls?|pulling|pulled) in (?:(?:a|the) )?(?:new )?([\w.-]*\w)")
ENERGIZING = frozenset(
    before + verb + end
    for before in ("", "re-", "re", "back-", "back")
    for verb in ("energiz", "energis")
    for end in ("e", "es", "ing")
)
ENERGIZED = frozenset(verb[:-1] + "ed" for verb in ENERGIZING if verb.endswith("e"))
CAN = _among("can could may might would")
COMING_TO_BE = _among("has have had get gets got be being")
MADE_LIVE = re.compile(r"\b(?:makes?|made|goes|gets?) (?:.* )?(?:hot|alive|live)\b|\bheats? (?:.* )?up\b")
FED = _among("line feeder circuit lateral tap section phase")
VOLTAGE_ON = re.compile(
    r"\b(?:power|voltage|feeder|circuit|section|lateral) (?:to be |is |goes |comes )?(?:put |brought |turned )?"
    r"(?:back on|back|on)$"
    r"|\b(?:back|put|goes|go|comes) (?:in|into) service\b|\b(?:try|tries|bump|bumps) (?:the|that|this) "
    r"(?:line|feeder|circuit|section|lateral|tap|phase)\b|\bhi-?pot(?:s|ting|ted)?\b|\b(?:shots?|touch) of voltage\b"
    r"|\b(?:meg|megs|megger|meggers) (?:the|each|all|both|it)\b"
    r"|\b(?:apply|applies|inject|injects) (?:.* )?(?:[0-9.]+ ?k?v|volts?|voltage|potential)\b"
    r"|\bback-?feeds? (?:the|this|our|it|from)\b|\b(?:if|whether) .* (?:will hold|holds)$"
)
"""Voltage that is put on, as people say it: `call for the feeder to be put back on`, `hi-pot the new tail`."""
STARTING = _among("start starts started starting run runs crank cranks")
MACHINES = _among("generator generators genset gensets inverter inverters")
POWER_BACK = re.compile(
    r"\b(?:power|service|supply|feed) (?:(?:is|comes|goes) )?(?:back|restored)\b"
    r"|\brestor(?:es?|ed) (?:the )?(?:power|service|supply|feed)\b"
)
UNLOCKING = _among("untag untags untagged unlock unlocks unlocked")
REMOVING = _among("remove removes removing removed pull pulls")
TAKING = _among("take takes taken taking")
PARTING = _among("unclamp unclamps detach detaches disconnects unhook unhooks") | REMOVING
MOVING = _among("move moves moved moving shift shifts shifted reposition repositions")
LOOSENING = _among("lift lifts loosen loosens undo undoes drop drops swap swaps unbond")
LOCKS = _among("tag tags lock locks padlock padlocks gloves hose hoses blankets barricade barricades cones covers")
UNBLOCKING = re.compile(
    r"\breclosing .*\bback\b|\bback .*\breclosing\b|\bunblocks? reclosing\b|\brecloser .*\b(?:automatic|normal)\b"
)
GIVING_BACK = re.compile(
    r"\breleas\w+ .*\b(?:clearance|permit)\b"
    r"|\b(?:clearance|permit) (?:(?:is|was|has been) )?(?:released|(?:given|handed) (?:back|in(?! writing))|returned)\b"
    r"|\b(?:gives?|given|gave|hands?|handed|turns?|turned) (?:the )?(?:line|clearance|permit) (?:back|over)\b"
)
SHOCK = re.compile(
    r"\b(?:feels?|felt|gets?|got|takes?|took|has|had|receives?|received|reports|reported)"
    r" (?:an?|another|the) (?:\w+ )?(?:shock|jolt|zap)\b(?! absorber)"
    r"|\b(?:shocked|zapped|tingl(?:e|es|ed|ing))\b|\bshocks (?:him|her|them)\b"
)
SUPPOSING = _among(
    "if when where whenever who whoever anyone anybody any every each should could may report call stop first watch"
)
"""What makes a clause speak of what may come: `if somebody feels a tingle, stop`."""
DRAWN = _among("draw draws drawn pulled") | REMOVING
RODS = _among("rod rods")
LOOKING = _among(
    "see sees seen look looks looked check checks checked inspect inspects inspected verify verifies verified watch "
    "watches watched find finds found read reads test tests tested tightens tightened count counts counted keep "
    "keeps kept mind minds stay stays tell tells told knows names shows sight view order rated marked"
)
"""What is done to equipment that a clause names, and changes nothing of it."""
COMING_OFF = re.compile(
    r"\b(?:comes?|came|coming|goes|go|went|fall(?:s|en)?|fell|slip(?:s|ped)?|pop(?:s|ped)?|work(?:s|ed)|is|are|was|were|be"
    r"|been|has|have|had|takes?|took|taken|taking|gets?|got|puts?|pull(?:s|ed)?|knock(?:s|ed)?|back(?:s|ed)?|let|lets|hang"
    r"|unscrew(?:s|ed)?|unbolt(?:s|ed)?)"
    r" (?:.* )?(?:off|loose|away|apart|adrift|undone)\b"
    r"|\b(?:tak(?:es?|en|ing)|took|brought|brings?) (?:.* )?(?:in|down)\b"
    r"|\bback(?:s|ed|ing)? off\b|\blift(?:s|ed|ing)? off\b"
    r"|\b(?:unclamp|unhook|unclip|unscrew|unbolt|loosen|slacken|detach|dismount|disconnect|reposition|re-?clamp|re-?hang"
    r"|transfer|transferr)"
    r"(?:s|ed|ing)?\b|\b(?:remov|releas|slid|mov)(?:e|es|ed|ing)\b|\bund(?:o|oes|id|one|oing)\b|\bslid\b"
    r"|\b(?:slip|swap|drop|unpin|unplug)(?:s|ped|ping|ned|ning|ged|ging)?\b|\bfrees\b|\bfree(?= (?:the|a|up)\b)"
    r"|\b(?:chang|roll|switch|pass|carr|hand)(?:e|es|s|ed|ied|y|ing)? (?:.* )?(?:over|across)\b|\bpass(?:es|ed|ing)?\b"
    r"|\bunt(?:ie|ies|ied|ying)\b|\b(?:lay|lays|laid|set|sets|put|puts|push|pushes) (?:.* )?aside\b|\bdropped\b"
    r"|\bsw(?:ing|ings|ung|inging)\b|\b(?:lift|shift|pull|unlock|open)(?:s|ed|ing)?\b|\bparts? the\b|\bparted\b"
)
"""What is done to a clamp, a lead or a set that then no longer holds: off, loose, aside, elsewhere."""
ELSEWHERE = re.compile(
    r"\b(?:from|to|into|in|out of|through|by|under|over|above|below|near|beside|onto|on|upon|at|with|between|past"
    r"|around|round|along|toward|towards|behind|clear of|side of|level of|height of|for|off(?= the ground\b))"
    r" (?:(?:the|a|an|its|his|her|their|each|this|that|bare|dry|hard|soft|level|long|new|old) )*"
    r"(?:grounds?|earth|clamps?|leads?|sets?|bonds?|bars?|rods?)\b"
    r"(?!-)"
)
"""Where something else is done: `lower the arm to the ground`, `hang it on the bar`."""
OTHER_GEAR = re.compile(
    r"\b(?:old|new|suspension|strain|dead[ -]?end|line-?post|post|hot[- ]?line|live[- ]?line|two-bolt|tension"
    r"|anchor|guy|angle|groove|pg|arrester|trunnion|spacer|insulator|messenger|cable|hose|pipe|conduit|stirrup|stringing|welding|transformer|service|meter|battery|street"
    r"|bolted|wedge|conductor|tap|splice|riser|bracket|insulated|lifting|armou?r|pry|crow|digging|spreader|tommy|bus|torque|hot|preformed|skid|drill|pole|arm|tool|socket)"
    r" (?:clamps?|leads?|bars?|rods?|sets?)\b"
    r"|\b(?:clamps?|bars?|rods?|sets?) (?:of|on) (?:the|a|an|each|every|its) (?:new |old )?"
    r"(?:dead-?end|insulator|post|guy|arm|suspension|string|strain|messenger|spacer|arrester|tool|drill)"
    r"|\bset ?-?screws?\b|\bsets? of\b|\bset (?:the|a|an|in|up|back|out|new|it)\b"
    r"|\bground (?:relay|crew|level|faults?|man|men|hands?|line|mat|plate|gradient|wire)\b|\bbond wire\b"
    r"|\b(?:lead|bar|rod|bond|ground|set) (?:line|in|man|hand|stock|nut|bolt|pin|anchor|screw)s?\b"
    r"|\bground (?:is|was) (?:soft|wet|frozen|hard|muddy|level|uneven|dry)\b"
    r"|\b(?:tamps?|levels?|rakes?|breaks?) the ground\b"
    r"|\b(?:plate|manhole|pit|vault|pedestal|trench|bird|wildlife|squirrel|bushing|box|weather) covers?\b"
)
"""Words that name a thing that protects, where they mean something else."""
FIXED_GEAR = re.compile(
    r"\b(?:down|tank|case|frame|pole|arrester'?s?|transformer'?s?|regulator'?s?|recloser'?s?|riser'?s?|pothead'?s?)"
    r" (?:grounds?|earths?)(?: (?:leads?|wires?|straps?|connectors?))?\b(?! (?:clamps?|sets?|rods?)\b)"
    r"|\b(?:ground|earth) connectors?\b"
)
"""What belongs to the line and stays on it. Put up or tightened it is no ground of the job; taken off, it may be what
the grounds are on."""
PROTECTING = _among("ground grounds earth earths clamp clamps bond bonds shorts")
LEFT_ON = re.compile(
    r"\b(?:is|are|sits?|hangs?) (?:still |all )?(?:on|in place|tight)\b"
    r"|^(?:\w+ )?(?:grounds?|earths?|clamps?|bonds?) at\b"
    r"|^(?:re-?)?(?:clamp|bond|ground|earth) (?!on\b|at\b|of\b|is\b|goes\b|comes\b|can\b|off\b|up\b|lead\b|clamp\b)"
)
"""That what protects is on, or that something is clamped, bonded or grounded: `clamp the wire in its dead-end`."""
LED = _among("lead leads set sets bar rod")
"""Nouns of what protects that are other things as often; beside apparatus that has leads they are nothing."""
APPARATUS = re.compile(
    r"\b(?:transformers?|arresters?|reclosers?|regulators?|bushings?|cutouts?|capacitors?|machine|motor|risers?|potheads?|meters?"
    r"|switch|recorder|tester|detector)\b|\b(?:the|a|an|each|old|new) disconnects?\b"
)
LOOSE = re.compile(r"\b(?:is|are|hangs?|works?|worked|comes?|gets?) (?:.* )?loose\b|\bhangs? by\b")
TAGS = _among("tag tags lock locks padlock padlocks")
NO_LOCK = re.compile(r"\btag[ -]?lines?\b|\block[ -]?(?:nuts?|washers?|pins?)\b")
BARRING = _among("barricade barricades cones barrier barriers fence fences") | TAGS
CLIMBING = re.compile(
    r"\b(?:climbs|climbing|belts up|(?:goes|go|comes?|gets|steps|moves|is sent|is brought|is lifted|is taken|rides) up"
    r"|(?:goes|gets|climbs|comes|steps) (?:in|into|onto) the (?:bucket|pole|tower|arm|steel))\b(?! (?:down|off)\b)"
)
"""Somebody goes up: `Odell climbs up to help`."""
LED_DOWN = _among("guy guys anchor down-lead downlead footing leg legs")
"""What leads down from the work, and has the potential of what the grounds are on."""
GROUNDS = _among("grounds earths shorts bridge bridges")
"""Of these a note may speak beforehand; where the words are those of the work, they are taken off in it."""
GOING = re.compile(
    r"\b(?:goes|go|moves?|climbs?|cross(?:es)?|swings?|steps?|changes?|hops?|walks?|leans?|reach(?:es)?) (?:.* )?"
    r"(?:to|up|on|onto) ([\w.-]*\w)"
)
"""Where somebody goes whom the words name: `Teal goes over to 78`."""
OFF_TO = re.compile(r"^(?:go|hop|walk|step|climb|cross)\b (?:.* )?(?:to|up|on|onto) ([\w.-]*\w)")
"""Where those at work are sent: `hop over to 78 for the tie`."""
NIGHTS = _among("tomorrow overnight")
"""What a hold or a note lets pass in a word; what follows is done after it."""
PARTING_WIRE = re.compile(
    r"\b(?:[Cc]ut(?:s|ting)?|[Pp]art(?:s|ing)?|[Ss]plic(?:e|es|ing)|[Ss]ever(?:s|ing)?|[Oo]pen(?:s|ing)? up)"
    r" (?:(?:the|phase|conductor) )?([\w.-]*\w)"
)
"""What is cut or spliced, where it is named at once: `cut a limb off C` cuts no conductor."""
PARTING_LENGTH = re.compile(
    r"\b[Cc]ut(?:s|ting)? (?:out )?(?:.* )?(?:foot|feet|ft|yards?|met(?:re|er)s?|pieces?|sections?|lengths?)"
    r" (?:out )?of (?:the )?([\w.-]*\w)"
)
"""A length that is cut out of what it names."""
WIRES = _among("conductor conductors jumper jumpers neutral")
JUMPERS = _among("jumper jumpers")
JUMPER_OPEN = re.compile(
    r"\b(?:open|part|undo|unbolt|unclamp|free)(?:s|ed)? (?:(?:up|the|a|b|c|old|phase) )*jumpers?\b"
    r"|\bjumpers? (?:.* )?(?:comes?|is|are|goes|hangs?) (?:.* )?(?:off|loose|open|apart)\b"
)
AFTER_A_WIRE = re.compile(r",| (?:is|was|comes|goes|hangs|and|or|phase|jumper|side)\b")
"""What follows a conductor that is called A; else `A` begins a sentence."""
LINES = _among("phase phases wire wires line")
ANOTHER_DAY = re.compile(
    r"\b(?:next (?:day|morning|shift)|in the morning|for the (?:night|day|weekend)|go(?:es)? home"
    r"|(?:until|on) (?:mon|tues|wednes|thurs|fri|satur|sun)day)\b"
)
A_WHILE = re.compile(
    r"\b(?:(?:storm|thunder|lightning|weather)\w* (?:is (?:over|past)|has passed|passes|moves off|clears|lets up)"
    r"|(?:for|after|from|over|until) (?:lunch|dinner|supper|the break)"
    r"|(?:two|three|four|five|six|several|a few|[2-9]) (?:hours|hrs|h))\b"
)
"""Bad weather or a break that a hold waits for."""
STORM = re.compile(
    r"\b(?:thunder\w*|electrical storm"
    r"|(?<!by )lightning(?![ -](?:arrest|rod|protect|mast|wire|conductor|damage|struck|strike|hit|surge|impulse))"
    r"|storm (?:is )?(?:near|nearby|close|coming|comes|over|overhead|approach\w*|moves in|in sight)"
    r"|flashes (?:on|over|in|behind) the (?:ridge|hills?|sky|horizon|distance|west|east|north|south))\b"
)
"""A thunderstorm that is there. `If lightning is seen` supposes one; `until the storm is over` has one."""

AFTERWARDS = _among("after once over past passed gone before de damage repair repairs")
"""What makes the title of a stage speak of before or after the storm."""
NOT_THERE = DENYING | SUPPOSING
NOT_THERE_YET = NOT_THERE | AFTERWARDS
LATER_DAY = re.compile(
    r"\b(?:next|following|second|third|fourth|fifth|last) (?:day|morning)\b|\bday (?:two|three|four|five|[2-9])\b"
    r"|\b(?:day|morning) after\b|\b(?:tomorrow|overnight)\b|\bafter (?:the|a) (?:night|weekend)\b"
)
WEEKDAYS = re.compile(r"\b(?:mon|tues|wednes|thurs|fri|satur|sun)day\b")
"""What titles of stages call days; two that are called otherwise are two days."""

SHIELDS = _among("static shield statics")
"""What people call a shield wire."""
SHIELDED = re.compile(r"\b(?:static|shield)(?:ed)? (?:line|electricity|charge|cable)\b")
SAGGING = re.compile(
    r"\b(?:re-?)?(?:sag|sags|sagging|sagged)\b"
    r"|\b(?:takes?|pulls?|lets?|gives?) (?:up |out |in |off )?(?:(?:the|some|its|their) )?slack\b"
    r"|\bslack(?:s|en|ens)? (?:off|out)\b|\blays? over$"
    r"|\b(?:under|into|in) (?:new )?(?:stringing )?(?:blocks|travell?ers|sheaves)\b"
)
LOWERING = re.compile(
    r"\b(?:lowers?|lowering|raises?|raising|drops?|transfers?|transferring|lets? down"
    r"|lays?(?= .*\b(?:over|down|out)\b))"
    r" (?:(?:all|both|the|old|new|three|phase|conductor) )*([\w.-]*\w)"
    r"(?= (?:and|to|in|into|on|onto|over|under|down|out|off|from)\b|$)"
)
"""A conductor that is re-sagged, lowered or raised: it can touch what it crosses."""


FAULTY = _among(
    "cut cracked frayed damaged broken burnt burned melted corroded nicked defective faulty torn worn split "
    "punctured bent crushed failed fails kinked wet muddy"
)
MENDED = _among("replaced repaired mended discarded scrapped spare dried wiped cleaned")


def _names(case: PlanTrace, *kinds: type) -> Iterable[str]:
    return (str(thing).lower() for kind in kinds for thing in case.all(kind))


def _clauses(text: str) -> list[str]:
    """The clauses of a text in small letters; a verb that waits for what it is said of (`closed and opened S1`) is put
    to the clause after it."""
    found: list[str] = []
    for clause in CLAUSES.split(text):
        words = WORD.findall(found[-1]) if found else []
        if words and (words[-1] in CLOSING or COMING_OFF.fullmatch(words[-1])):
            found[-1] += f" {clause.strip()}"
        else:
            found.append(clause)
    return found


def _taken(said: set[str], clause: str) -> bool:
    """Whether a clause takes a jumper off, or makes it loose."""
    off = (said & TAKING and said & {"off", "loose", "apart"}) or said & (PARTING | LOOSENING)
    return bool(off) or bool(JUMPER_OPEN.search(clause))


def _taken_off(clause: str, text: str) -> bool:
    """Whether a clause takes, moves or loosens a ground, a clamp, a lead, a set, a bar or a rod, or has one loose."""
    if {*WORD.findall(clause)} & (LOOKING | SUPPOSING):
        return False
    done = ELSEWHERE.sub(" ", OTHER_GEAR.sub(" ", clause))
    said = {*WORD.findall(done)}
    if not said & (PROTECTING | LED) or (not said & PROTECTING and APPARATUS.search(text)):
        return False
    return bool(COMING_OFF.search(done) or (said & PROTECTING and LOOSE.search(done)))


def _sent_up(case: PlanTrace, at: int, clause: str) -> bool:
    """Whether a clause sends up somebody it names, who is not up, and whom no step from there on takes up."""
    if not CLIMBING.search(clause):
        return False
    READING.only(at)
    said = {*WORD.findall(clause)}
    for one in case.all(Person):
        stand = case.stand_point(at, one)
        up = stand is not None and (isinstance(stand, Unknown) or stand.sort != "earth")
        goes = case.last_going.get(one, -1) >= at
        if str(one).lower() in said and not up and not goes:
            return True
    return False


def _said_otherwise(case: PlanTrace, at: int, kind: str, text: str) -> str:
    """What the rows of `SAYINGS` find in words; nothing where none does."""
    for clause in CLAUSES.split(NO_LOCK.sub(" ", STAYING_IN.sub("is ", _with_kinds(case, at, text)))):
        said = set(WORD.findall(clause))
        if said & DENYING or "if" in said:
            continue
        for row in SAYINGS:
            if not row.said_in(clause):
                continue
            if row.means == "testing":
                if any(case.timeline.lifted(at, lead) is not None for lead in case.all(Lead)):
                    continue  # what is tested is off the set for it
                return "energizing"
            if row.means in ("pausing", "waiting") and kind != "hold":
                continue
            if said & LOOKING and row.means in ("moving", "moving on", "climbing", "taking-off"):
                continue
            if row.means == "moving on" and (kind != "work" or not _beyond_all_steps(case, at, text)):
                continue
            return row.means.partition(" ")[0]
    return "nothing"


def _beyond_all_steps(case: PlanTrace, at: int, text: str) -> bool:
    """Whether words name a structure to which no step takes anybody, and that nobody has in reach, or a next one, while
    somebody is in place."""
    people = case.timeline.people_in_place(at)
    if not people:
        return False
    visited = {one.slots.get("structure") for one in case.actions if one.kind in ("enter", "move")}
    stands = (case.timeline.stand(at, one) for one in people)
    reach = [point for stand in stands if stand is not None for point in stand.reach or ()]
    visited |= {point.structure for point in reach if isinstance(point, PointRef)}
    said = {*WORD.findall(text)}
    return "next" in said or any(str(one) in said and one not in visited for one in case.all(Structure))


def _with_kinds(case: PlanTrace, at: int, text: str) -> str:
    """A text in small letters, with the plan's names replaced by their kinds, as `SAYINGS` wants them."""
    READING.only(at)
    people = [one for one in case.all(Person) if case.timeline.stand(at, one) is not None]
    manned = {case.person_structure(at, one) for one in people}
    kinds: dict[str, str] = {}
    for sort, called in ((Structure, PLACE), (Switch, GATE), (Capacitor, GATE), (SupplySource, FEED), (Lead, GROUND)):
        kinds.update((str(one), HERE if one in manned else called) for one in case.all(sort))
    kinds.update((str(one), GROUND) for sort in (Bar, Rod) for one in case.all(sort))
    kinds.update((str(one), WIRE) for one in case.conductors)
    for one in case.all(Person):
        stand = case.stand_point(at, one)
        up = stand is not None and (isinstance(stand, Unknown) or stand.sort != "earth")
        kinds[str(one)] = UP if up else str(one).lower() if case.last_going.get(one, -1) >= at else MAN
    named = "|".join(re.escape(name) for name in sorted(kinds, key=len, reverse=True))
    pieces = re.split(rf"(?<![\w-])({named})(?![\w-])", text) if named else [text]
    if len(pieces) > 1 and not pieces[0] and pieces[1] == "A" and not AFTER_A_WIRE.match(pieces[2]):
        pieces[:3] = ["a" + pieces[2]]  # an article
    return "".join(kinds[piece] if at % 2 else piece.lower() for at, piece in enumerate(pieces))


@fact(
    "spoken-of",
    "step",
    returns=(
        "closing",
        "energizing",
        "taking-off",
        "unlocking",
        "pausing",
        "waiting",
        "parting",
        "stringing",
        "moving",
        "climbing",
        "shock",
        "voltage",
        "breaking",
        "nothing",
    ),
    lines=here,
    meaning="what its words in quotes say is done, that only a step of its own can say; nothing where they say none",
)
def spoken_of(case: PlanTrace, at: int, step: Event) -> str:
    text = step.slots.get("text")
    if not isinstance(text, str):
        return "nothing"
    named = set(NUMBERED.findall(text.lower())) - {str(one).lower() for one in case.plan.things}
    switches = OPEN_POINTS | set(_names(case, Switch, Capacitor)) | named
    grounds = set(_names(case, Lead, Bar, Rod)) | (GROUNDS if step.kind == "work" else set())
    worn = LOCKS | set(_names(case, Rubber))
    places = set(_names(case, Structure))
    people = [one for one in case.all(Person) if case.timeline.stand(at, one) is not None]
    up, manned = (
        {str(one).lower() for one in some} for some in (people, (case.person_structure(at, p) for p in people))
    )
    machines = MACHINES | set(_names(case, SupplySource))
    for clause in _clauses(STAYING_IN.sub("is ", text.lower())):
        clause = NO_LOCK.sub(" ", clause)
        said = set(WORD.findall(clause))
        taking = bool(said & TAKING) and "off" in said
        if said & DENYING:
            continue
        refitted = REFITTING.search(clause) and said & REFITTED
        if refitted or ((said & CLOSING or GOING_IN.search(clause)) and said & switches):
            return "closing"
        if said & ENERGIZING or (said & ENERGIZED and said & COMING_TO_BE) or POWER_BACK.search(clause):
            return "energizing"
        if VOLTAGE_ON.search(clause.strip()) and not said & CAN:
            return "energizing"
        if (MADE_LIVE.search(clause) and said & FED) or (said & STARTING and said & machines):
            return "energizing"
        if said & UNLOCKING or ((taking or said & REMOVING) and said & worn):
            return "unlocking"
        if said & BARRING and COMING_OFF.search(clause) and not said & (LOOKING | SUPPOSING):
            return "unlocking"
        if UNBLOCKING.search(clause) or GIVING_BACK.search(clause):
            return "unlocking"
        if ((taking or said & (PARTING | MOVING | LOOSENING)) and said & grounds) or (said & DRAWN and said & RODS):
            return "taking-off"
        if _taken_off(clause, text.lower()) and (step.kind != "note" or not said & AFTERWARDS):
            return "taking-off"
        if step.kind == "work" and said & MOVING and "leads" in said:  # those taken off are a transformer's as often
            return "taking-off"
        going = GOING.search(clause)
        if going and said & up and going[1] in places:
            return "moving"
        sent = OFF_TO.search(clause.strip()) if step.kind == "work" else None
        if sent and sent[1] in places - manned:
            return "moving"
        if _sent_up(case, at, clause):
            return "climbing"
        if step.kind in ("work", "note") and _taken(said, clause) and said & JUMPERS:
            return "parting"
        if SHOCK.search(clause) and not said & SUPPOSING:
            return "shock"
        if step.kind in ("hold", "note") and (said & NIGHTS or ANOTHER_DAY.search(clause)):
            return "pausing"
        if step.kind == "hold" and A_WHILE.search(clause):
            return "waiting"
    wires = WIRES | SHIELDS | {str(one) for one in case.conductors}
    if step.kind == "work" and any(
        said in wires or said.lower() in WIRES | SHIELDS
        for said in (*PARTING_WIRE.findall(text), *PARTING_LENGTH.findall(text))
    ):
        return "parting"
    if step.kind == "work" and any(said in wires | LINES for said in STRINGING.findall(text)):
        return "stringing"
    return _said_otherwise(case, at, step.kind, text)


@fact(
    "freeing-before-an-entry",
    "step",
    lines=here,
    meaning="its words take off a ground that is on, or a tag or a lock, and somebody takes up a place after it",
)
def freeing_before_an_entry(case: PlanTrace, at: int, step: Event) -> bool:
    READING.only(at)
    text = step.slots.get("text")
    after = [later.kind for later in case.actions[at + 1 :]]
    if not isinstance(text, str) or "enter" not in after:
        return False
    if {"detach", "unbond", "lift", "untag"} & set(after[: after.index("enter")]):  # which does what they say
        return False
    on = any(case.timeline.ends(at, lead) for lead in case.all(Lead))
    for clause in _clauses(NO_LOCK.sub(" ", text.lower())):
        said = {*WORD.findall(clause)}
        if said & (NOT_THERE | LOOKING | {"after", "once", "before"}):
            continue
        if said & UNLOCKING or (said & TAGS and COMING_OFF.search(clause)) or (on and _taken_off(clause, text.lower())):
            return True
    return _said_otherwise(case, at, step.kind, text) in (("unlocking", "taking-off") if on else ("unlocking",))


@fact(
    "leaves-equipment-alone",
    "step",
    lines=here,
    meaning="its words name no ground, open point, capacitor or live part, or say that it is looked at or kept clear",
)
def leaves_equipment_alone(case: PlanTrace, at: int, step: Event) -> Answer:
    text = step.slots.get("text")
    if not isinstance(text, str):
        return True
    who = step.slots.get("operator")
    stand = case.stand_point(at, who) if isinstance(who, Person) else None
    below = isinstance(stand, PointRef) and stand.sort == "earth"
    kinds = (Lead, Bar, Rod, Switch, Capacitor, LooseWire, *((Vehicle,) if below else ()))  # who is below touches it
    things = [one for kind in kinds for one in case.all(kind)]
    live = [one for kind in (Neighbour, ParallelCircuit) for one in case.all(kind)]
    for clause in CLAUSES.split(text):
        said = {*WORD.findall(clause.lower())}
        if said & (LOOKING | DENYING):
            continue
        for one in things:  # also where a range begins or ends with it
            if re.search(rf"(?<![\w-]){re.escape(str(one).lower())}(?![\w-])", clause.lower()):
                return Unknown.of(f"what these words do to {one}", "", step.span)
        for one in case.conductors if below else ():
            if re.search(rf"(?<=\w ){re.escape(str(one))}(?![\w-])", clause):
                return Unknown.of(f"what these words do to {one}", "", step.span)
        if below and said & LED_DOWN:
            return Unknown.of(f"what these words do to the {min(said & LED_DOWN)}", "", step.span)
        for one in live:  # as it is written: `the oak` is none
            its = rf"(?<!below )(?<!under )(?<!from )(?<![\w-]){re.escape(str(one))}(?![\w-]| is (?:live|bare|hot)\b)"
            if re.search(its, clause):
                return Unknown.of(f"what these words do to {one}", "", step.span)
        clause = clause.lower().strip()
        done = {*WORD.findall(ELSEWHERE.sub(" ", OTHER_GEAR.sub(" ", FIXED_GEAR.sub(" ", clause))))} & PROTECTING
        if done and not said & SUPPOSING and not LEFT_ON.search(clause):
            return Unknown.of(f"what these words do to the {min(done)}", "", step.span)
    return True


@fact(
    "parting-in-words",
    "step",
    "conductor",
    lines=here,
    meaning="its words in quotes take a jumper off that conductor, which they name",
)
def parting_in_words(_case: PlanTrace, _at: int, step: Event, conductor: Conductor) -> bool:
    text = step.slots.get("text")
    if not isinstance(text, str) or step.kind not in ("work", "note") or not JUMPERS & set(WORD.findall(text.lower())):
        return False
    for clause in CLAUSES.split(text):
        said = set(WORD.findall(clause.lower()))
        if _taken(said, clause.lower()) and not said & DENYING and str(conductor) in WORD.findall(clause):
            return True
    return False


@lru_cache(maxsize=4096)
def _words(text: str) -> tuple[frozenset[str], ...]:
    """The words of each clause of a text in small letters, which is kept: no part of a source, which it would keep."""
    return tuple(frozenset(WORD.findall(clause)) for clause in CLAUSES.split(text))


def _says_faulty(text: str, item: Equipment) -> bool:
    """Whether words speak of a fault of a piece of equipment that they name."""
    name = str(item).lower()
    return any(name in said and bool(said & FAULTY) and not said & (DENYING | MENDED) for said in _words(text.lower()))


def _faulty_since(case: PlanTrace, item: Equipment) -> int | None:
    """The first step whose words speak of a fault of it, -1 where a caution does; None where nothing does."""
    if any(_says_faulty(text, item) for text in case.plan.cautions):
        return -1
    return next((at for at, text in case.texts if _says_faulty(text, item)), None)


def _where_faulty(case: PlanTrace, _at: int, item: Equipment) -> Lines:
    since = _faulty_since(case, item)
    return () if since is None or since < 0 else (case.line_of(since),)


@fact(
    "used-though-faulty",
    "equipment",
    timed=False,
    lines=_where_faulty,
    meaning="words in quotes speak of a fault of it, and a step after them, other than its inspection, names it",
)
def used_though_faulty(case: PlanTrace, _at: int, item: Equipment) -> bool:
    since = _faulty_since(case, item)
    if since is None:
        return False
    return any(step.kind != "inspect" and item in named(step) for step in case.actions[since + 1 :])


@fact(
    "in-a-thunderstorm",
    "step",
    lines=here,
    meaning="its words in quotes, or the title of its stage, speak of a thunderstorm that is there",
)
def in_a_thunderstorm(case: PlanTrace, at: int, step: Event) -> bool:
    READING.only(at)
    text, title = step.slots.get("text"), case.actions[at].stage if at < case.n else None
    if isinstance(text, str) and _storms(text.lower(), NOT_THERE):
        return True
    return title is not None and _storms(title.lower(), NOT_THERE_YET)


@lru_cache(maxsize=4096)
def _storms(text: str, but: frozenset[str]) -> bool:
    clauses = zip(CLAUSES.split(text), _words(text), strict=True)
    return any(STORM.search(clause) is not None and not said & but for clause, said in clauses)


@fact(
    "worked-on",
    "point",
    timed=False,
    meaning="it is a conductor that some work touches there, or that words of work by somebody there name",
)
def worked_on(case: PlanTrace, _at: int, point: PointRef) -> Answer:
    if not isinstance(point.thing, Conductor):
        return False
    doubt: Unknown | None = None
    called = SHIELDS if point.thing.role == "shield" else frozenset[str]()
    for at, step in enumerate(case.actions):
        if step.kind != "work":
            continue
        touched: Any = step.slots.get("touch") or ()
        if point in touched:
            return True
        text = step.slots.get("text")
        if not isinstance(text, str) or SHIELDED.search(text.lower()):
            continue
        if str(point.thing) not in WORD.findall(text) and not called & set(WORD.findall(text.lower())):
            continue
        there = {case.person_structure(at, one) for one in case.timeline.people_in_place(at)}
        if point.structure in there and step.slots.get("structure") in (None, point.structure):
            return True
        doubt = next((place for place in there if isinstance(place, Unknown)), doubt)
    return False if doubt is None else doubt


@fact(
    "slackening",
    "plan",
    meaning="the step just done is work, and its words, or its stage's title, re-sag, lower or raise a conductor",
)
def slackening(case: PlanTrace, at: int, _plan: Plan) -> bool:
    READING.only(at)
    step = case.actions[at - 1] if at > 0 else None
    if step is None or step.kind != "work":
        return False
    wires = WIRES | LINES | {str(one).lower() for one in case.conductors}
    for clause in CLAUSES.split(f"{step.slots.get('text')}. {step.stage}".lower()):
        moved = any(said in wires for said in LOWERING.findall(clause.strip()))
        if (moved or SAGGING.search(clause)) and not set(WORD.findall(clause)) & DENYING:
            return True
    return False


def _days(title: str) -> set[str]:
    return set(WEEKDAYS.findall(title.lower()))


@fact(
    "day-not-come-to",
    "step",
    lines=here,
    meaning="it begins a stage whose title speaks of another day than the stage before, and nobody is away in between",
)
def day_not_come_to(case: PlanTrace, at: int, _step: Event) -> bool:
    READING.only(at)
    if at == 0 or not case.begins_stage(at):
        return False
    stages = [action.stage for action in case.actions]
    title, earlier = str(stages[at]), {day for one in stages[:at] for day in _days(one or "")}
    days = _days(title)
    if not LATER_DAY.search(title.lower()) and not (days and earlier and not days & earlier):
        return False
    first = next(one for one in range(at) if stages[one:at] == [stages[at - 1]] * (at - one))
    after = next((one for one in range(at, case.n) if stages[one] != stages[at]), case.n)
    unwatched = case.timeline.unwatched(after)
    return unwatched is None or unwatched < first


@fact(
    "undone-by-its-title",
    "step",
    lines=here,
    meaning="it is work, and the title of its stage closes, energizes or takes off what no step of that stage does",
)
def undone_by_its_title(case: PlanTrace, at: int, step: Event) -> bool:
    READING.only(at)
    title = case.actions[at].stage if step.kind == "work" and at < case.n else None
    if title is None:
        return False
    done = case.kinds_by_stage[title]
    switches, grounds = OPEN_POINTS | set(_names(case, Switch)), GROUNDS | set(_names(case, Lead, Bar))
    for said in _words(title.lower()):
        if said & NOT_THERE_YET:
            continue
        live_again = ENERGIZING | {one for one in ENERGIZED if one.startswith("re")}
        energized = (said & CLOSING and said & switches) or said & live_again
        if energized and not done & {"close", "release"}:
            return True
        if "off" in said and said & (grounds | {"lead", "leads"}) and not done & {"detach", "unbond", "lift"}:
            return True
    return False

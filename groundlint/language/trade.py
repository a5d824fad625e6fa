"""What a step in a crew's own words could be in this language: whole statements, in the names of the plan.

Imported only for a line that can't be read. The line's words become a shape, in which names stand as their kinds
(``install LEAD on STRUCTURE CONDUCTOR``); a table of shapes gives the statements to try, and only those that read are
offered. Where the line leaves something out, the first thing of its kind in the plan stands for it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping

from groundlint.language import statements as s
from groundlint.language.statements import Statement, declared_names

KINDS: dict[type[Statement], str] = {
    s.Structure: "STRUCTURE",
    s.Rod: "ROD",
    s.Bar: "BAR",
    s.Lead: "LEAD",
    s.Detector: "DETECTOR",
    s.Tester: "TESTER",
    s.Stick: "STICK",
    s.Mat: "MAT",
    s.Vehicle: "VEHICLE",
    s.Crew: "PERSON",
    s.SourceDecl: "SOURCE",
    s.Switch: "SWITCH",
    s.Neighbour: "NEIGHBOUR",
    s.Capacitor: "CAPACITOR",
    s.Phases: "CONDUCTOR",
    s.Line: "LINE",
}
_RANGE = re.compile(r"(.*?)([0-9]{1,6})\.\.\1([0-9]{1,6})")


def kinds_of(statements: Iterable[Statement]) -> dict[str, str]:
    """What each name that a plan declares stands for, in the order of the plan."""
    found: dict[str, str] = {}
    for one in statements:
        names = list(getattr(one, "names", ())) if isinstance(one, s.Line) else list(declared_names(one))
        kind = KINDS.get(type(one), "")
        if isinstance(one, s.Neutral) and one.name is not None:
            names, kind = [one.name], "CONDUCTOR"
        elif isinstance(one, s.Route):
            names, kind = [hop.structure for hop in one.hops], "STRUCTURE"
        for name in map(str, names if kind else ()):
            row = _RANGE.fullmatch(name)
            if len(name) > 1 and name.isalpha() and name.islower():
                continue  # `switch off SW41` is no declaration of `off`
            if row and int(row[3]) - int(row[2]) < 100:
                found.update((f"{row[1]}{number}", kind) for number in range(int(row[2]), int(row[3]) + 1))
            else:
                found.setdefault(name, kind)
    return found


_ADJECTIVES = "(?:personal|portable|protective|temporary|working|bracket|main|drain)"
# Nouns of the trade for things that need not be named.
NOUNS = (
    (r"(?:voltage |volt(?:age)? )?(?:detectors?|indicators?|noisy testers?)", "DETECTOR"),
    (r"proving[ -]units?|testers?", "TESTER"),
    (
        r"(?:temporary |screw )*(?:ground|earth)(?:ing)?[ -]?(?:rods?|spikes?|stakes?|electrodes?)"
        r"|(?:temporary |screw )*rods?",
        "ROD",
    ),
    (r"(?:(?:ground|earth)(?:ing)? )?cluster(?:[ -]?(?:bars?|brackets?))?|(?:grounding )?bars?", "BAR"),
    (r"(?:live[ -]line|hot|shotgun|operating)[ -]?(?:sticks?|poles?|tools?)|sticks?", "STICK"),
    (
        rf"(?:{_ADJECTIVES} )*(?:(?:ground|earth)(?:ing)?[ -]"
        rf"(?:leads?|cables?|jumpers?|sets?|clamps?)|grounds|earths|ground(?= LEAD)|leads?)"
        rf"|(?:{_ADJECTIVES} )+(?:ground|earth)|(?<=[a-z] )(?:ground|earth)(?=$| (?:from|to|on|off|at)(?![\w-]))",
        "LEAD",
    ),
    (
        r"(?:bucket |line )?trucks?|buckets?|cranes?|diggers?|m?ewps?|cherry[ -]?pickers?"
        r"|(?:elevated )?work platforms?",
        "VEHICLE",
    ),
    (r"(?:rubber )?gloves(?: and sleeves)?", "GLOVES"),
    (r"clearances?|permits?(?: to work)?|ptw|sanctions?(?: for test)?", "CLEARANCE"),
    (r"(?:hold |danger |caution |warning |red )*(?:tags?|notices?)|hold (?:cards?|orders?)", "TAG"),
    (r"locks?|padlocks?|lockouts?", "LOCK"),
    (r"(?:barrier )?tape|barricades?|cones?|barriers?|exclusion zones?", "BARRICADE"),
    (r"covers?|cover-up|(?:rubber )?blankets?|(?:line )?hoses?|shrouds?", "COVER"),
    (r"reclos(?:ing|e|er)|auto-?reclose", "RECLOSING"),
    (r"everybody|everyone|all hands|the crew|crew|all", "ALL"),
    (r"linem[ae]n|linesm[ae]n|lineworkers?|climbers?", "PEOPLE"),
    (r"line|feeder|circuit", "LINE"),
    (r"fuses?|cutouts?|switch(?:es)?|breakers?|(?<=[a-z] )disconnects?|links?|isolators?|blades?", "SWITCH"),
    (r"conductors?|phases?|wires?", "WIRE"),
)
_NOUNS = tuple((re.compile(rf"(?<![\w-])(?:{pattern})(?![\w-])"), kind) for pattern, kind in NOUNS)
_WORD = re.compile(r'"[^"\n]*"|[^\s,;:()"]+')
# `clamp the line end of G1 on`: an end is known by where it goes on.
_PART_OF_A_LEAD = re.compile(r"(?:(?:LEAD|ground|earth|line|LINE|other|first) )?(?:ends?|clamps?) of (?=LEAD)")
_BEFORE_A_VERB = re.compile(
    r"^(?:(?:then|now|next|first|again|visually|physically) |re-(?=test|prove|check|inspect|clean))+"
)
# Verbs as a crew's list has them: `L1 climbs 212`.
_INFLECTED = {"goes": "go", "does": "do", "reaches": "reach", "switches": "switch", "brushes": "brush"}


_LENGTHS = {"ft", "feet", "foot", "m", "metres", "meters", "in", "inches", "mm", "cm"}


class Phrase:
    """A line in a crew's own words."""

    def __init__(self, text: str, known: Mapping[str, str]) -> None:
        self.words = [word.rstrip(".") or word for word in _WORD.findall(text)]
        guessed = {
            word: "STRUCTURE"
            for word, after in zip(self.words, [*self.words[1:], ""], strict=False)
            if re.fullmatch(r"[0-9]{2,}[A-Za-z]?", word) and after.lower() not in _LENGTHS
        }
        guessed |= {word: "CONDUCTOR" for word in self.words if word in ("A", "B", "C", "N")}
        self.known = known = {**guessed, **known}
        strangers = [word for word in self.words if word not in known and re.fullmatch(r"[A-Z]\w*[0-9][\w-]*", word)]
        self.unknown = list(dict.fromkeys(strangers))
        shape = [known.get(word, "NAME" if word in strangers else word.lower()) for word in self.words]
        plain = " ".join(word for word in shape if word not in ("the", "a", "an", "new"))
        for pattern, kind in _NOUNS:
            plain = pattern.sub(kind, plain)
        plain = _PART_OF_A_LEAD.sub("", plain)
        plain = re.sub(r"^(?:(?:PERSON|ALL|PEOPLE(?! NAME)) (?:and )?)+(?:is |are )?", "", plain)
        plain = _BEFORE_A_VERB.sub("", plain)
        verb, _, rest = plain.partition(" ")
        verb = _INFLECTED.get(verb, verb[:-1] if re.fullmatch(r"[a-z]{3,}[^s]s", verb) else verb)
        self.shape = f"{verb} {rest}".strip()
        self.everything = " ".join(shape)

    def named(self, *kinds: str) -> list[str]:
        """The names of these kinds that stand in the line; those that nothing declares where it has none."""
        found = [word for word in self.words if self.known.get(word) in kinds]
        return list(dict.fromkeys(found)) or self.unknown

    def mentions(self, *kinds: str) -> bool:
        """Whether a name of these kinds stands in the line."""
        return any(self.known.get(word) in kinds for word in self.words)

    def every(self, *kinds: str) -> list[str]:
        """All that the plan has of these kinds."""
        return [name for name, kind in self.known.items() if kind in kinds]

    def some(self, *kinds: str, count: int = 1) -> list[str]:
        """Those named, else the first that the plan has."""
        return self.named(*kinds) or self.every(*kinds)[:count]

    def one(self, *kinds: str) -> str:
        """The first named, else the first that the plan has; empty where it has none."""
        return next(iter(self.some(*kinds)), "")

    def after(self, *words: str) -> str:
        """The name, declared nowhere, that follows one of these words."""
        pairs = zip(self.words, self.words[1:], strict=False)
        return next((name for word, name in pairs if word.lower() in words and name in self.unknown), "")

    def says(self, pattern: str) -> bool:
        """Whether the shape of the line holds a pattern."""
        return re.search(pattern, self.shape) is not None

    @property
    def structure(self) -> str:
        """The structure named, else that in the middle of the route."""
        named = [word for word in self.words if self.known.get(word) == "STRUCTURE"]
        every = self.every("STRUCTURE")
        return named[0] if named else every[len(every) // 2] if every else ""

    def at(self) -> str:
        """`` at 212`` where the line names a structure."""
        named = [word for word in self.words if self.known.get(word) == "STRUCTURE"]
        return f" at {named[0]}" if named else ""

    def phases(self) -> list[str]:
        """The plan's first three conductors."""
        return self.every("CONDUCTOR")[:3]

    def points(self) -> list[str]:
        """The points that the line names, in its order."""
        found, here, before = [], "", ""
        for word in self.words:
            kind = self.known.get(word)
            if kind == "STRUCTURE":
                here = word
            elif kind == "CONDUCTOR" or (word.lower() == "neutral" and self.known.get("N") == "CONDUCTOR"):
                found.append(f"{here or self.structure} {word if kind else 'N'}".strip())
            elif kind in ("BAR", "ROD", "VEHICLE", "MAT") or (
                word in self.unknown[1:] and before not in ("by", "with", "using")
            ):
                found.append(word)
            before = word.lower()
        return found

    def means(self, point: str) -> str:
        """How an end on this point is handled, as far as the line says."""
        if self.says(r"\bhand\b"):
            return " by hand"
        named = [word for word in self.words if self.known.get(word) == "STICK"]
        stick = named[0] if named else self.one("STICK") if self.says("STICK") else self.after("by", "with", "using")
        return f" by {stick}" if stick and " " in point else ""

    def who(self) -> str:
        """`` by L1``: who is named, else the first of the crew."""
        person = self.one("PERSON")
        return f" by {person}" if person else ""

    def people(self) -> str:
        """Those named, those meant by a word for several, or the first of the crew."""
        if self.says("ALL") or re.search(r"all hands|everybody|everyone", " ".join(self.words).lower()):
            return "all"
        named = [word for word in self.words if self.known.get(word) == "PERSON"]
        many = re.search(r"linemen|linesmen|lineworkers", " ".join(self.words).lower())
        return " ".join(named or self.every("PERSON")[: 2 if many else 1] or self.unknown[:1])

    def quoted(self, *without: str) -> str:
        """The line as a text, without some of its first words."""
        text = " ".join(word.strip('"') for word in self.words)
        for words in without:
            text = re.sub(rf"^(?:{words})\s+", "", text, flags=re.IGNORECASE)
        return f'"{text}"'


_LENGTH = r"[0-9.]+ ?(?:ft|feet|foot|m)"


# ---------------------------------------------------------------- statements
def _with(keyword: str, *kinds: str, after: str = "", every: bool = False) -> Callable[[Phrase], str]:
    """A statement of a keyword and the things named."""

    def make(p: Phrase) -> str:
        every_one = every or (p.says(r"ALL [A-Z]{3}|everything") and not p.mentions(*kinds))
        found = p.every(*kinds) if every_one else p.some(*kinds)
        return f"{keyword} {' '.join(found)}{after}" if found else ""

    return make


def _clearance(state: str) -> Callable[[Phrase], str]:
    def make(p: Phrase) -> str:
        word = "permit" if "permit" in " ".join(p.words).lower() else "clearance"
        line = next((f" {name}" for name in p.words if p.known.get(name) == "LINE"), "")
        return f"{word}{line} {state}{p.who()}"

    return make


def _transfer(p: Phrase) -> str:
    people = [word for word in p.words if p.known.get(word) == "PERSON"]
    return f"clearance transferred by {people[0]} to {people[1]}" if len(people) > 1 else ""


def _brief(p: Phrase) -> str:
    named = [word for word in p.words if p.known.get(word) == "PERSON"]
    return f"brief {' '.join(named) or 'all'}"


def _points_of(p: Phrase) -> str:
    """``212 A B C``: the conductors named, or all phases of the structure."""
    named = [word for word in p.words if p.known.get(word) in ("STRUCTURE", "CONDUCTOR")]
    conductors = any(p.known.get(word) == "CONDUCTOR" for word in named)
    if not conductors:
        named = [p.structure, *p.phases()] if p.structure else p.unknown
    elif p.known.get(named[0]) == "CONDUCTOR" and p.structure:
        named = [p.structure, *named]
    return " ".join(named)


def _test(p: Phrase) -> str:
    detector = p.one("DETECTOR") if p.says("DETECTOR") else p.after("with", "using")
    stick = p.one("STICK") if p.says("STICK") else p.after("on", "by")
    found = re.search(r"(?:result|finding|reads?|reading|found)s? (dead|live)", " ".join(p.words).lower())
    clauses = (f" with {detector}", detector), (f" on {stick}", stick), (f", finding {found and found[1]}", found)
    return f"test {_points_of(p)}" + "".join(clause for clause, there in clauses if there)


def _buzz(p: Phrase) -> str:
    return f"test {_points_of(p)} improvised"


def _inspect(p: Phrase) -> str:
    kinds = [kind for kind in ("LEAD", "BAR", "ROD", "STICK", "VEHICLE", "MAT", "TESTER") if p.says(kind)]
    return f"inspect {' '.join(name for kind in kinds for name in (p.named(kind) or p.every(kind)))}"


def _prove(p: Phrase) -> str:
    structure = next(iter(p.every("STRUCTURE")), "")
    live = f"live {structure} {' '.join(p.phases()[:1])}"  # the plan has no tester; where it is live, its writer knows
    return f"prove {p.one('DETECTOR')} on {p.one('TESTER') or live}"


def _pointed(keyword: str) -> Callable[[Phrase], str]:
    return lambda p: f"{keyword} {_points_of(p)}"


def _set(p: Phrase) -> str:
    words = " ".join(p.words).lower()
    away = re.search(rf"({_LENGTH}) (?:away (?=from|off))?(?:(?:from|off) (?:the )?(?:pole|structure)|away)", words)
    deep = re.search(rf"({_LENGTH}) (?:deep|down)", words)
    clauses = (f", {away[1]} from the pole" if away else "") + (f", {deep[1]} deep" if deep else "")
    return f"set {p.one('ROD')} at {p.structure}{clauses}"


def _mount(p: Phrase) -> str:
    height = re.search(r"(below|under|above) (?:the )?feet", " ".join(p.words).lower())
    where = {"under": "below"}.get(height[1], height[1]) if height else ""
    return f"mount {p.one('BAR')} at {p.structure}{f' {where} the feet' if where else ''}"


def _ends(p: Phrase, to: str) -> str:
    points = p.points()[:2]
    there = re.search(r"\b(?:on|to|from|off) (BAR|ROD)\b", p.shape)
    if not points and there is not None:  # `on the bar`
        points = p.every(there[1])[:1]
    elif not points and to == "to":
        start = next(iter(p.every("BAR") or p.every("ROD")), "")
        points = [point for point in (start, *(f"{p.structure} {one}" for one in p.phases()[:1])) if point]
    elif not points:
        points = [f"{p.structure} {one}" for one in p.phases()[:1]]
    elif to == "from" or (p.says(r"^(?:apply|install|place|hang|put|fit)") and not p.says(r"\bfrom\b|\bthen\b")):
        points = points[:1]
    return ", then ".join(f"{to} {point}{p.means(point)}" for point in points)


def _attach(p: Phrase) -> str:
    return f"attach {p.one('LEAD')} {_ends(p, 'to')}"


def _detach(p: Phrase) -> str:
    return f"detach {p.one('LEAD')} {_ends(p, 'from')}"


def _lift(p: Phrase) -> str:
    return f"lift {p.one('LEAD')} {_ends(p, 'from')}"


def _bond(p: Phrase) -> str:
    others = [point for point in p.points() if p.known.get(point) != "VEHICLE"]
    to = next(iter(others or p.every("ROD") or p.every("BAR")), "")
    with_ = f" with {p.one('LEAD')}" if p.says("LEAD") and p.one("LEAD") else ""
    return f"bond {p.one('VEHICLE', 'MAT')} to {to}{with_}"


def _park(p: Phrase) -> str:
    return f"park {p.one('VEHICLE')}{p.at()}"


def _enter(p: Phrase) -> str:
    vehicle = p.one("VEHICLE") if p.says("VEHICLE") else ""
    place = f"in {vehicle}" if vehicle else "on the pole"
    reach = " ".join(filter(None, (*p.phases(), "" if vehicle else "and the pole"))).removeprefix("and ")
    return f"enter {p.people()} at {p.structure} {place}, reaching {reach}"


def _move(p: Phrase) -> str:
    return f"move {p.people()} to {p.structure}"


def _barricade(p: Phrase) -> str:
    distance = re.search(rf"{_LENGTH}\b", " ".join(p.words))
    kind = next((kind for kind in ("ROD", "VEHICLE", "STRUCTURE") if p.says(kind)), "ROD")
    return f"barricade {p.one(kind)}{f' at {distance[0]}' if distance else ''}"


def _work(p: Phrase) -> str:
    if p.says("LEAD|ROD|BAR|TAG|LOCK|COVER|BARRICADE|GLOVES|CLEARANCE|DETECTOR"):
        return ""  # what protects the crew is a step of its own, and no words in quotes
    text = re.sub(
        r"\s+by\s+\S+", "", re.sub(r"\s+(?:at|on)\s+(?:the\s+)?(?:pole\s+)?\d\S*", "", p.quoted("work")[1:-1])
    )
    named = [word for word in p.words if p.known.get(word) == "PERSON"]
    one = f" by {named[0]}" if len(named) == 1 else ""  # without it the work is that of everybody there
    return f'work "{text}"{one}{p.at()}'


def _hold(p: Phrase) -> str:
    return f"hold {p.quoted('stop and', 'stop', 'stand by', 'hold', 'do not proceed')}"


def _pause(p: Phrase) -> str:
    words = " ".join(p.words).lower()
    if "night" in words or re.search(r"\bday\b", words):
        return "pause overnight"
    return "pause for weather" if re.search(r"weather|storm|lightning|rain|wind", words) else "pause"


def _note(p: Phrase) -> str:
    return f"note {p.quoted()}"


def _certify(p: Phrase) -> str:
    return f"certify {'dead' if p.says('dead') else 'grounds'} at {p.structure}{p.who()}"


def _discharge(p: Phrase) -> str:
    return f"discharge {p.one('CAPACITOR')}"


def _declared(keyword: str, drop: str) -> Callable[[Phrase], str]:
    """A declaration, its first words made the language's own."""

    def make(p: Phrase) -> str:
        rest, changed = re.subn(rf"^(?:{drop})\s+", "", " ".join(p.words), flags=re.IGNORECASE)
        return f"{keyword} {rest}" if changed else ""

    return make


def _vehicle(p: Phrase) -> str:
    body = re.match(r"(?:bucket )?(?:truck|bucket|crane|digger)s?", " ".join(p.words), re.IGNORECASE)
    rest = " ".join(p.words)[body.end() if body else 0 :].split()
    kind = "" if body is None or body[0].lower() == "truck" else body[0].lower()
    return f"vehicle {rest[0]} {kind} {' '.join(rest[1:])}".replace("  ", " ").strip() if rest else ""


def _switches(keyword: str, after: str = "") -> Callable[[Phrase], str]:
    return _with(keyword, "SWITCH", after=after)


_open = _switches("open")


def _dead_end(p: Phrase) -> str:
    return f"structure {p.structure} dead-end"


_isolate, _lock, _tag, _untag = _switches("open", ", lock it and tag it"), *map(_switches, ("lock", "tag", "untag"))
_open_tag, _open_both = _switches("open", " and tag it"), _isolate
_verify = _switches("verify", " open")
_block = _with("block reclosing on", "SWITCH", "SOURCE", "NEIGHBOUR")
_unblock = _with("unblock reclosing on", "SWITCH", "SOURCE", "NEIGHBOUR")


def _close(p: Phrase) -> str:
    named = [word for word in p.words if p.known.get(word) == "PERSON"]
    return f"close {p.one('SWITCH')}{f' by {named[0]}' if named else ''}"


_leave = lambda p: f"leave {p.people()}"  # noqa: E731
_requested, _received, _released = map(_clearance, ("requested", "received", "released"))

PUT = (
    r"(?:install|place|put|hang|fit|fix|clamp|apply|connect|attach|set|run|hook|lay|mount|make|jumper|add|secure|extend"
    r"|erect)"
)
TAKE = (
    r"(?:remove|take|pull|strip|detach|disconnect|unclamp|unhook|clear|lift|get|unmount|dismount|collect|withdraw|draw)"
)
CHECK = r"(?:check|verify|confirm|ensure|inspect|look|examine|see|visually|test|make sure|prove)"
_Makers = tuple[Callable[[Phrase], str], ...]

# The first that fits gives the statements to try; several are several meanings.
SHAPES: tuple[tuple[str, _Makers], ...] = (
    (r"^(?:disconnect capacitor|discharge)", ()),
    (r"switching order|^(?:clean up|finish|job (?:complete|done)|post|station|appoint|safety observer|patrol|chock)"
     r"|^(?:block wheels|load VEHICLE)|^(?:walk|block|sound) (?:LINE|wheels|pole)|^pick up tool", (_note,)),
    (r"^(?:(?:hold|conduct|give|deliver|have|do|run) )?"
     r"(?:tailboard|tailgate|toolbox|job brief|briefing|pre-job|discuss)", (_brief,)),
    (r"^(?:review|go over|talk (?:through|over)) (?:plan|job|procedure)", (_brief,)),
    (r"^brief", (_brief,)),
    # gloves
    (rf"^(?:{CHECK}|air test).*GLOVES", (_note,)),
    (rf"^(?:{TAKE}|doff).*GLOVES", (lambda p: f"gloves off {p.people()}",)),
    (r"^(?:wear|don|put|use|gloves|GLOVES).*", (lambda p: f"gloves on {p.people()}" if p.says("GLOVES") else "",)),
    # clearance
    (r"^(?:transfer|hand|pass).*CLEARANCE", (_transfer,)),
    (r"^sign on", (_received, _note)),
    (r"(?:request|ask|apply|call).*CLEARANCE", (_requested,)),
    (r"^(?:release|give|surrender|return|cancel|close|clear|hand back|sign off).*CLEARANCE", (_released,)),
    (r"^(?:receive|obtain|get|take|accept|have|pick|gain|secure|issue).*CLEARANCE", (_received,)),
    (r"^(?:receive|obtain|get) TAG.*LINE(?! TAG)", (_received,)),
    (r"^(?:in )?clear$", (_released,)),
    (r"^CLEARANCE (?:returned|surrendered|cancell?ed|closed|handed back)", (_released,)),
    (r"^CLEARANCE (?:granted|given|issued|obtained|accepted)", (_received,)),
    (r"^(?!CLEARANCE (?:transfer|receive|release|request)).*CLEARANCE|^get ok ", (_requested, _received, _released)),
    (r"^report.*\b(?:clear|off)\b", (_released,)),
    (r"^(?:notify|tell|inform|advise|call).*ALL is clear", (_released,)),
    (r"^(?:notify|call|contact|radio|phone|advise) (?:dispatch\w*|operator|control(?: room)?)$",
     (_note, _requested, _released)),
    (r"^(?:notify|inform|tell|call|radio|advise|contact|phone|report)", (_note,)),
    # reclosing
    (r"^(?:enable|restore|turn on|unblock|put back|normal|reset|return).*RECLOSING|RECLOSING.*(?:back on|normal)",
     (_unblock,)),
    (rf"^{TAKE}.*(?:one[ -]shot|non-?reclos|hot LINE TAG)", (_unblock,)),
    (r"RECLOSING|one[ -]shot|non-?(?:reclos|auto)|hot LINE TAG", (_block,)),
    # remote and automatic control
    (r"^(?:disable|disarm|block|turn off).*\bcontrols?\b", (_with("disable control of", "SWITCH"),)),
    (r"^(?:enable|restore|turn on|put back).*\bcontrols?\b", (_with("enable control of", "SWITCH"),)),
    (rf"^(?:TAG|(?:{PUT}).*TAG).*\bcontrols?\b", (_with("tag control of", "SWITCH"),)),
    # locks and tags
    (rf"^(?:{TAKE}|unlock|untag).*(?:TAG|LOCK)|^(?:unlock|untag)", (_untag,)),
    (r"^(?:open|isolate|switch out).*LOCK.*TAG", (_open_both,)),
    (r"^(?:open|isolate|switch out).*LOCK", (_switches("open", ", lock it"),)),
    (r"^(?:open|isolate|switch out).*TAG", (_open_tag,)),
    (r"^close.*(?:TAG|LOCK)", (_untag, _close)),
    (r"^LOCK.*TAG", (_lock, _tag)),
    (r"^LOCK.*dead", (_lock, _test)),
    (rf"^{PUT} LOCK.*TAG", (_lock, _tag)),
    (rf"^(?:LOCK|(?:{PUT}).*LOCK)", (_lock,)),
    (rf"^(?:red )?(?:TAG|(?:{PUT}).*TAG)", (_tag,)),
    # covers, barricades
    (rf"^{TAKE}.*COVER", (_with("uncover", "NEIGHBOUR"),)),
    (rf"^(?:COVER|(?:{PUT}).*COVER)", (_with("cover", "NEIGHBOUR"),)),
    (r"^(?:guard|(?:keep|stay|stand) (?:clear|back|away))", (_barricade, _note)),
    (r"^(?:keep|stay|remain|put out)", (_note,)),
    (rf"^{TAKE}.*BARRICADE", (_with("unbarricade", "ROD", "VEHICLE", "STRUCTURE"),)),
    (rf"^(?:rope|cone|tape|fence|flag|BARRICADE|(?:{PUT}).*BARRICADE)", (_barricade,)),
    # proving and testing
    (r"^(?:buzz|fuzz)", (_buzz,)),
    (rf"^{CHECK}.*DETECTOR.*(?:TESTER|works)|^(?:test|prove) (?:DETECTOR ?)+(?!.*CONDUCTOR)|^{CHECK} NAME on TESTER",
     (_prove,)),
    (r"^(?:test|voltage (?:test|check)) (?:STRUCTURE|CONDUCTOR)|^(?:use|touch) .*(?:CONDUCTOR|DETECTOR)", (_test,)),
    (rf"^{CHECK}.*(?:grounded|earthed)", (lambda p: f"hold {p.quoted()}",)),
    (rf"^{CHECK}.*(?:dead|voltage|energized|DETECTOR)|^(?:WIRE|phase) out|^(?:absence|test) ", (_test,)),
    (rf"^{CHECK}.*SWITCH", (_verify,)),
    (rf"^{CHECK}.*DETECTOR", (_prove, _with("inspect", "DETECTOR"))),
    (rf"^{CHECK}.*(?:LEAD|BAR|ROD|STICK|VEHICLE|MAT|TESTER)", (_inspect,)),
    (rf"^{CHECK}.*CONDUCTOR", (_test,)),
    (rf"^{CHECK}.*STRUCTURE", (_test, _note)),
    (rf"^{CHECK} pole|^(?:wipe|dry).*STICK", (_note,)),
    (r"^(?:WIRE )?(?:brush|scrub|scrape|shine|clean|sand|polish|abrade)", (_pointed("clean"),)),
    (r"^(?:count|account|tally)", (_note,)),
    # people
    (r"^(?:come|climb|go|get|step|bring|PEOPLE)?\s*down|^descend|^come", (_leave,)),
    (rf"^(?:{PUT}|lower|raise) (?:outriggers?|stabili[sz]ers?|jacks?)", (_note,)),
    (r"^(?:lower|bring) (?:boom|VEHICLE)|^VEHICLE down", (_leave,)),
    (r"^(?:climb|ascend|go up|go in|board|get in|get on|send .*up|mount pole|in(?: VEHICLE)+|belt|aloft)"
     r"|^up(?: STRUCTURE)?$", (_enter,)),
    (r"^to STRUCTURE", (_move, _enter)),
    (r"^(?:bring|lower) (?:PERSON|ALL|PEOPLE)", (_leave,)),
    (r"^(?:work|operate|elevate) (?:in|from) VEHICLE", (_enter,)),
    (r"^(?:go to|reposition|shift|relocate|swing|walk)", (_move,)),
    # vehicles
    (r"^(?:unground|unearth|unbond|take (?:ground|LEAD)).*VEHICLE", (_with("unbond", "VEHICLE"),)),
    (r"^(?:ground|earth|bond|tie|connect|LEAD).*VEHICLE", (_bond,)),
    (r"^(?:position|spot|set up|park|stage|bring up|(?:drive|back|move) VEHICLE)(?:.*VEHICLE)?", (_park,)),
    # the line
    (r"^(?:pull in|string|sag)", (_pointed("string"),)),
    (r"^(?:sever|cut)", (_pointed("cut"),)),
    (r"^(?:splice in|make (?:up|splice)|sleeve|dead-end)", (_pointed("join"),)),
    (r"got.*shock|^shocked", (_with("shock", "PERSON"),)),
    (r"^sign", (_certify,)),
    (r"^(?:short|drain|bleed).*CAPACITOR", (_discharge,)),
    (r"^short.*(?:CONDUCTOR|WIRE|LINE|LEAD)", (_attach,)),
    # switching
    (rf"^(?:rack out|trip|kick|break|(?:switch|SWITCH) off|turn off|drop|cut out|knock|{TAKE}).*SWITCH", (_open,)),
    (r"^rack SWITCH out", (_open,)),
    (r"^(?:switch|SWITCH) out|^open .*SWITCH", (_open,)),
    (r"^(?:re-?close|close|insert) (?:.* )?SWITCH", (_close,)),
    (r"^(?:replace|refit) .*SWITCH", (_close, _work)),
    (r"^dead[- ]end", (_dead_end,)),
    (r"^(?:isolate|de-?energi[sz]e|kill|dead|make .*dead)", (_open, _isolate)),
    (r"^(?:rack in|close in|re-?energi[sz]e|energi[sz]e|restore (?:service|power|supply|LINE)|put SWITCH back"
     r"|make .*(?:live|hot)|make (?:LINE )?alive|heat up|pick up load|(?:turn|switch|SWITCH) (?:on|in))"
     r"|service$", (_close,)),
    # leads, bars, rods
    (r"^mount (?:BAR|NAME)", (_mount,)),
    (r"^set (?:ROD|NAME)", (_set,)),
    (r"^attach (?:LEAD|NAME)", (_attach,)),
    (r"^detach (?:LEAD|NAME)", (_detach,)),
    (r"^(?:lift) .*LEAD", (_detach, _lift)),
    (rf"^{TAKE} (?:off )?LEAD", (_detach,)),
    (rf"^(?:{TAKE}).*BAR", (_with("dismount", "BAR"),)),
    (rf"^(?:{TAKE}|extract|dig).* ?ROD", (_with("pull", "ROD"),)),
    (rf"^(?:{PUT}) (?:in |on |up )?LEAD", (_attach,)),
    (rf"^(?:{TAKE}|unground|unearth).*LEAD|^(?:unground|unearth).*CONDUCTOR", (_detach,)),
    (r"^LEAD (?:removed|off|down)", (_detach,)),
    (r"^LEAD at", (_attach,)),
    (rf"^(?:{PUT}|drive|screw|pound|sink|knock|hammer|ROD)(?: in)?.* ?ROD", (_set, )),
    (rf"^(?:{PUT}).*LEAD|^(?:{PUT}).*(?:from|to).*CONDUCTOR|^LEAD .*LEAD|^{PUT} WIRE together", (_attach,)),
    (rf"^(?:{PUT}).*BAR", (_mount,)),
    (r"^(?:ground|earth).*(?:CONDUCTOR|LINE|LEAD)", (_attach,)),
    (r"^(?:tie|jumper).*CONDUCTOR|between (?:WIRE|CONDUCTOR)", (_attach,)),
    (rf"^(?:{PUT}|ground|earth).*NAME", (_attach, _mount, _set)),
    (r"^(?:ground|earth)(?! ends?)", (_attach,)),
    (rf"^(?!disconnect)(?:{TAKE}).*NAME", (_detach, _with("dismount", "BAR"), _open)),
    # stops and work
    (r"^(?:knock off|shut down|stand down|quit|stop|break|suspend|interrupt)"
     r".*(?:night|day|weather|storm|lightning|lunch|coffee|rest|dinner)", (_pause,)),
    (r"^wait.* [0-9]+ (?:min|minutes?|hours?|h)$", (lambda p: f"wait {' '.join(p.words[-2:])}",)),
    (r"^(?:stop and|stop |stand by|do not|wait for|wait until)", (_hold,)),
    (r"^(?:change|replace|repair|install|perform|remove|fit|transfer|mend|work)", (_work,)),
    # things
    (r"^PEOPLE", (lambda p: f"crew {' '.join(p.words)}",)),
    (r"^(?:LEAD)", (_declared("lead", r"(?:portable )?(?:ground(?:ing)?|earth(?:ing)?) (?:jumper|cable|set)s?"),)),
    (r"^VEHICLE", (_vehicle,)),
)  # fmt: skip


BESIDE = {
    "out", "in", "up", "off", "down", "over", "back", "dead", "live", "energized", "de-energized", "deenergized",
    "voltage", "works", "service", "neutral",
}  # fmt: skip
"""Words that stand beside verbs and things."""


def is_of_the_trade(text: str, known: Mapping[str, str]) -> bool:
    """Whether a line has a word, beside its verb, in which a crew's steps are written and that is no name here."""
    words = [word for word in _WORD.findall(text)[1:] if word not in known]
    return any(word in BESIDE or is_noun(word) for word in words)


def is_noun(word: str) -> bool:
    """Whether a word, after a verb, is what crews call a thing."""
    after_a_verb = f"put {word.lower()}"
    return any(pattern.fullmatch(after_a_verb, 4) for pattern, _ in _NOUNS)


def said_in_statements(text: str, known: Mapping[str, str], reads: Callable[[str], bool]) -> tuple[str, ...]:
    """The statements that a line could mean; none where its words are not known. ``reads`` tells whether a statement
    does."""
    return tuple(_tried(Phrase(text, known), reads))


def _tried(phrase: Phrase, reads: Callable[[str], bool]) -> Iterator[str]:
    for pattern, makers in SHAPES:
        if phrase.says(pattern):
            found = [text for make in makers if (text := make(phrase).strip()) and reads(text)]
            if found or not makers:
                yield from dict.fromkeys(found)
                return

"""What a step in a crew's own words could be in this language: whole statements, in the names of the plan.

Imported only for a line that can't be read. The line's words become a shape, in which names stand as their kinds
(``install LEAD on STRUCTURE CONDUCTOR``); a table of shapes gives the statements to try. Only those are offered that
read and say no less than the line: every name and number of it, every word that protects, and all that is done in it. A
line with a word that nobody knows here gets none, since that word may say anything. Where the line leaves something
out, the first thing of its kind in the plan stands for it; where the plan has several, that is an example and said to
be one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

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
    s.Rubber: "GOODS",
    s.LooseWire: "LOOSE",
    s.Cable: "CABLE",
}


class Meant(NamedTuple):
    """What a line could mean: statements, one a line of the text; ``whole`` unless something in them is an example."""

    text: str
    whole: bool


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
            if kind not in ("STRUCTURE", "LINE") and name.isdigit():
                continue  # nor `disconnect 8 ft` one of `8`
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
    (r"(?<!block )reclosers?(?= SWITCH)", "SWITCH"),
    (r"(?:auto(?:matic)?[ -]?)?reclos(?:ing|e|er)|auto-?reclose", "RECLOSING"),
    (r"everybody|everyone|all hands|the crew|crew|all", "ALL"),
    (r"linem[ae]n|linesm[ae]n|lineworkers?|climbers?", "PEOPLE"),
    (r"line|feeder|circuit", "LINE"),
    (
        r"fuses?|cutouts?|switch(?:es)?|breakers?|(?<=[a-z] )disconnects?|links?|isolators?|blades?"
        r"|(?:load-?break )?elbows?(?= SWITCH)",
        "SWITCH",
    ),
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


_POLE_GROUND = re.compile(r"\bpole[ -](?:ground|earth)\b", re.IGNORECASE)
_LENGTHS = {"ft", "feet", "foot", "m", "metres", "meters", "in", "inches", "mm", "cm"}


_FROM_TO = re.compile(r"(?<!from )(?<![\w.-])([A-Za-z]*)([0-9]+) (?:to|through|thru) \1([0-9]+)(?![\w.-])")


def _first_of(word: str) -> str:
    """The first name of a range; empty where a word is no name."""
    row = _RANGE.fullmatch(word)
    return f"{row[1]}{row[2]}" if row else ""


def _as_range(row: re.Match[str], known: Mapping[str, str]) -> str:
    """``A1 to A6`` of leads as the language writes it."""
    first, last = f"{row[1]}{row[2]}", f"{row[1]}{row[3]}"
    return f"{first}..{last}" if known.get(first) == known.get(last) == "LEAD" else row[0]


def _names(words: Iterable[str]) -> set[str]:
    """The words, those that are ranges as the names that they stand for."""
    found: set[str] = set()
    for word in words:
        row = _RANGE.fullmatch(word)
        if row and int(row[3]) - int(row[2]) < 100:
            found |= {f"{row[1]}{number}" for number in range(int(row[2]), int(row[3]) + 1)}
        else:
            found.add(word)
    return found


def _numbers(text: str) -> set[str]:
    """The numbers that stand in a text by themselves or before a unit."""
    return {one.rstrip(".,:") for one in re.findall(r"(?<![\w.-])[0-9][0-9.,:/]*", text)}


_TEXT = re.compile(r'"[^"]*"')


# What a line says that protects somebody, and what says it in a statement.
_PROTECTS: tuple[tuple[str, str], ...] = (
    (r"\bpadlock|\block", r"\block|\buntag"),
    (r"\btag|\bnotice|\bhold (?:card|order)", r"tag|reclosing|clearance|permit"),
    (r"\b(?:gap|seen|visibl[ey])\b", r"\bseen\b|^verify"),
    (r"^(?:open|rack|trip|close|lock|tag)\b.*\b(?:verif|check|confirm)", r"\bverify|\bseen\b"),
    (r"\b(?:below|above|under)\b", r"\b(?:below|above|under)\b"),
    (r"\bpole[ -](?:ground|earth)\b", r"\bpole[ -](?:ground|earth)\b"),
    (r"\bneutral\b", r"\bN\b|\bneutral\b"),
    (r"\b(?:and|then) (?:earth|ground)\b", r"\b(?:attach|bond)\b"),
    (r"\btold\b", r"\btold\b"),
    (r"\b(?:and|then) (?:test|prove)\b", r"\b(?:test|prove)\b"),
    (r"\b(?:except|but|unless|if|not|never|until|full)\b", r"(?!)"),
)
PUT = (
    r"(?:install|place|put|hang|fit|fix|clamp|apply|connect|attach|set|run|hook|lay|mount|make|jumper|add|secure|extend"
    r"|erect)"
)
TAKE = (
    r"(?:remove|take|pull|strip|detach|disconnect|unclamp|unhook|clear|lift|get|unmount|dismount|collect|withdraw|draw)"
)
CHECK = r"(?:check|verify|confirm|ensure|inspect|look|examine|see|visually|test|make sure|prove)"
# What is done, and the words of a statement that say it; another verb is said by itself alone.
_DONE = (
    (r"lock|padlock", r"\block"),
    (r"tag|notice", r"\btag"),
    (r"earth|ground|short|bond", r"^(?:attach|bond)\b"),
    (r"rack|trip|isolate|open", r"^open\b"),
    (PUT, r"^(?:attach|bond|mount|set|cover|barricade)\b|\b(?:lock|tag|gloves on)\b"),
    (TAKE, r"^(?:detach|unbond|dismount|pull|uncover|unbarricade|leave|untag|gloves off|lift)\b"),
    (CHECK, r"^(?:verify|test|prove|inspect)\b|\bseen\b"),
)
_VERBS = (
    r"(?:open|close|lock|padlock|tag|untag|earth|ground|short|bond|unbond|rack|trip|isolate|park|clean|brush|barricade"
    r"|cover|uncover|enter|leave|climb|move|cut|join|drive|swing|turn|wait|stop|count|notify|tell|call|report|request"
    r"|receive|release|return|keep|stow|bring|carry|replace|repair|transfer|drain|discharge)"
)
_AND_DONE = re.compile(
    rf"(?:,|;|\band\b|\bthen\b)(?:\s+(?:and|then|re-|also|next))*\s+({PUT}|{TAKE}|{CHECK}|{_VERBS})"
    r"\s+(?!(?:at|on|of|to|from|in|for|with|by|and)\b)(?=\S)",
    re.IGNORECASE,
)
_NUMBERS = {
    "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
    "ten": "10", "twelve": "12", "fifteen": "15", "twenty": "20", "thirty": "30", "forty": "40", "fifty": "50",
    "sixty": "60",
}  # fmt: skip
_COUNTED = re.compile(
    rf"(?<![\w-])({'|'.join(_NUMBERS)})"
    r"(?=[ -](?:minutes?|min|hours?|h|seconds?|s|feet|ft|foot|inch(?:es)?|in|m|meters?|metres?)\b)",
    re.IGNORECASE,
)
_BY = r"(?:open|close|clearance|permit|work|certify|handle)\b"
"""The first words of statements that can say who does it."""
_NOWHERE = (
    r"(?:leave|dismount|pull|unbond|brief|unbarricade|clearance|permit|inspect|prove|open|close|lock|tag|untag|bond|gloves"
    r"|verify|(?:un)?block|(?:en|dis)able)\b"
)
"""Those of statements that say no structure, since what they name is at one place."""


class Phrase:
    """A line in a crew's own words."""

    def __init__(self, text: str, known: Mapping[str, str]) -> None:
        text = re.sub(r"(?<=[0-9])['\u2019\u2032](?![\w'])", " ft", text)
        text = _COUNTED.sub(lambda number: _NUMBERS[number[0].lower()], text)
        self.text = text = _FROM_TO.sub(lambda row: _as_range(row, known), text)
        known = {**known, **{word: known[first] for word in _WORD.findall(text) if (first := _first_of(word)) in known}}
        self.words = [word.rstrip(".") or word for word in _WORD.findall(self.text)]
        guessed = {
            word: "STRUCTURE"
            for word, after in zip(self.words, [*self.words[1:], ""], strict=False)
            if re.fullmatch(r"[0-9]{2,}[A-Za-z]?", word) and after.lower() not in _LENGTHS
        }
        guessed |= {word: "CONDUCTOR" for word in self.words if word in ("A", "B", "C", "N")}
        self.declares = bool(known)
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
        # what is done in it besides its first verb, each with what it is done to
        self.acts = [found[1].lower() for found in _AND_DONE.finditer(_TEXT.sub(" ", self.text))]

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

    def offers(self, text: str) -> Meant | None:
        """Some statements as what the line means; None where they say less than it does."""
        line, bare = _TEXT.sub(" ", self.text), _TEXT.sub(" ", text)
        # what is to be read by the crew says what it quotes
        quoting = re.match(r"(?:note|hold)\b", text) is not None
        unquoted, every = _names(_WORD.findall(bare)), _names(_WORD.findall(text.replace('"', " ")))
        whole = True
        for word in _WORD.findall(line):
            kind = self.known.get(word.rstrip("."), "NAME" if word in self.unknown else "")
            # who works is no matter of words
            if not kind or _names([word.rstrip(".")]) <= (every if quoting or kind != "PERSON" else unquoted):
                continue
            aside = kind == "LINE" or (kind == "PERSON" and not re.match(_BY, text))
            if not aside and not (kind == "STRUCTURE" and re.match(_NOWHERE, text)):
                return None
            whole = False
        if not {one for one in _numbers(line) if one not in self.known} <= _numbers(text):
            return None
        if not quoting and any(re.search(a, line.lower()) and not re.search(b, text) for a, b in _PROTECTS):
            return None
        if not quoting and not (self.does_all(text) and self.says_all(text)):
            return None
        said = _names(self.words)
        for word in _names(_WORD.findall(bare)) - said:
            kind = self.known.get(word, "")
            whole = whole and word not in ("POINT", "LEAD") and (not kind or set(self.every(kind)) <= unquoted)
        return Meant(text, whole)

    @property
    def several(self) -> bool:
        """Whether things are done in the line that are no clause of another step, as locking and tagging are."""
        return any(act not in ("lock", "tag") for act in self.acts)

    @property
    def kinds(self) -> set[str]:
        """The kinds of things that the line is about; nothing where it names none, or only where and by whom."""
        beside = {"STRUCTURE", "CONDUCTOR", "PERSON", "PEOPLE", "ALL", "STICK", "LINE", "NAME", "WIRE"}
        return {word for word in self.shape.split() if word.isupper() and len(word) > 2} - beside

    def does_all(self, text: str) -> bool:
        """Whether some statements say each thing that is done in the line."""
        for act in self.acts:
            said = next((said for verbs, said in _DONE if re.fullmatch(verbs, act)), rf"\b{act}")
            if re.search(said, text, re.MULTILINE) is None:
                return False
        return True

    def says_all(self, text: str) -> bool:
        """Whether some statements say each word of the line that is known to say something, and no other stands in
        it."""
        # what else these are about is no matter of words
        if re.match(r"(?:brief|pause|work|crew|lead|vehicle|structure)\b", text):
            return True
        held = set(_WORD.findall(text.lower()))
        words = {word for word in self.shape.split()[1:] if re.fullmatch("[a-z][a-z-]+", word)}
        return words <= {*held, *self.acts, *BESIDE, *SAYING_NO_MORE}

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
        words = _POLE_GROUND.sub("pole-ground", self.text)
        for word in (word.rstrip(".") or word for word in _WORD.findall(words)):
            kind = self.known.get(word)
            if kind == "STRUCTURE":
                here = word
            elif kind == "CONDUCTOR" or (word.lower() == "neutral" and self.known.get("N") == "CONDUCTOR"):
                found.append(f"{here or self.structure} {word if kind else 'N'}".strip())
            elif word == "pole-ground":
                found.append(f"{here or self.structure} pole ground".strip())
            elif kind in ("BAR", "ROD", "VEHICLE", "MAT") or (
                word in self.unknown[1:] and before not in ("by", "with", "using")
            ):
                found.append(word)
            before = word.lower()
        return list(dict.fromkeys(found))

    def means(self, point: str) -> str:
        """How an end on this point is handled, as far as the line says."""
        if self.says(r"\bhand\b"):
            return " by hand"
        named = [word for word in self.words if self.known.get(word) == "STICK"]
        stick = named[0] if named else self.one("STICK") if self.says("STICK") else self.after("by", "with", "using")
        its_lead = stick in self.unknown[:1] and not self.mentions("LEAD")
        return f" by {stick}" if stick and " " in point and not its_lead else ""

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
        """The line as a text, without some of its first words, or the text that stands in it where there are such."""
        texts = re.findall(r'"([^"]+)"', self.text) if without else []
        text = texts[0] if texts else " ".join(self.text.replace('"', "").split()).rstrip(".")
        for words in without if not texts else ():
            text = re.sub(rf"^(?:{words})(?:\s*:\s*|\s+)", "", text, flags=re.IGNORECASE)
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
    return f"brief {'all' if p.says('ALL') else ' '.join(named) or 'all'}"


def _points_of(p: Phrase) -> str:
    """``212 A B C``: the conductors and the pole ground named, or all phases of the structure."""
    points = [point for point in p.points() if " " in point or p.known.get(point) == "CONDUCTOR"]
    if not points:
        return " ".join([p.structure, *p.phases()]) if p.structure else " ".join(p.unknown)
    found, here = [], ""
    for point in points:
        structure, _, rest = point.rpartition(" ") if "pole ground" not in point else (point[:-12], "", "pole ground")
        found += [rest] if structure == here else [structure, rest]
        here = structure
    return " ".join(filter(None, found))


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
    for name in p.every("STRUCTURE"):  # `20 ft from W5`
        words = re.sub(rf"(?<=from ){re.escape(name.lower())}(?![\w-])", "pole", words)
    base = r"(?:the )?(?:base of )?(?:the )?(?:foot of )?(?:pole|structure)"
    away = re.search(rf"({_LENGTH}) (?:away (?=from|off))?(?:(?:from|off) {base}|away)", words)
    deep = re.search(rf"({_LENGTH}) (?:deep|down)|(?:depth|deep)(?: of)? ({_LENGTH})", words)
    clauses = (f", {away[1]} from the pole" if away else "") + (f", {deep[1] or deep[2]} deep" if deep else "")
    return f"set {p.one('ROD')} at {p.structure}{clauses}"


def _mount(p: Phrase) -> str:
    height = re.search(r"\b(below|under|above) (?:the )?(\S+)", " ".join(p.words))
    of = "" if height is None else {"feet": " the feet", "neutral": " N"}.get(height[2], f" {height[2]}")
    if height is not None and of[1:] not in ("the feet", "N") and p.known.get(height[2]) != "CONDUCTOR":
        return ""
    where = f" {height[1].replace('under', 'below')}{of}" if height else ""
    return f"mount {p.one('BAR')} at {p.structure}{where}"


def _put_on_first(p: Phrase, point: str) -> int:
    """Where an end on this point stands among the two of a lead: the ground end first, and a phase last."""
    if p.known.get(point) == "ROD" or point.endswith("pole ground"):
        return 0
    return 1 if " " not in point else 2 if point.endswith(" N") else 3


def _ends(p: Phrase, to: str) -> str:
    points = p.points()[:3]
    there = re.search(r"\b(?:on|to|from|off) (BAR|ROD)\b", p.shape)
    if not points and there is not None:  # `on the bar`
        points = p.every(there[1])[:1]
    elif not points and to == "to":
        start = next(iter(p.every("BAR") or p.every("ROD")), "")
        points = [point for point in (start, *(f"{p.structure} {one}" for one in p.phases()[:1])) if point]
    elif not points:
        return f"from POINT{p.means('a point')}, then from POINT"
    if len(points) > 2:
        return ""
    if len(points) == 1 and p.says(r"^(?:ground|earth)") and _put_on_first(p, points[0]) == 3:
        points.insert(0, "POINT")  # a phase is never the end that goes on first
    means = {point: p.means(point) for point in points}
    if p.says(r"\bhand\b") and p.mentions("STICK"):  # one end in another way than the other
        parts = [Phrase(part, p.known) for part in re.split(r"\bthen\b", p.text)]
        means = {point: part.means(point) for part in parts for point in part.points()}
        if len(parts) != len(points) or set(means) != set(points):
            return ""
    points.sort(key=lambda point: _put_on_first(p, point), reverse=to == "from")
    return ", then ".join(f"{to} {point}{means[point]}" for point in points)


def _attach(p: Phrase) -> str:
    return f"attach {p.one('LEAD')} {ends}" if (ends := _ends(p, "to")) else ""


def _detach(p: Phrase) -> str:
    lead = next(iter(p.named("LEAD")), "LEAD")
    return f"detach {lead} {ends}" if (ends := _ends(p, "from")) else ""


def _lift(p: Phrase) -> str:
    return f"lift {p.one('LEAD')} {_ends(p, 'from')}"


def _bond(p: Phrase) -> str:
    vehicles, leads = p.some("VEHICLE", "MAT"), p.some("LEAD") if p.says("LEAD") else []
    others = [point for point in p.points() if p.known.get(point) not in ("VEHICLE", "MAT")]
    to = next(iter(others or p.every("ROD") or p.every("BAR")), "")
    if len(leads) not in (0, len(vehicles)):
        return ""
    return "\n".join(f"bond {one} to {to}{f' with {leads[at]}' if leads else ''}" for at, one in enumerate(vehicles))


def _bond_across(p: Phrase) -> str:
    point = next(iter(p.points()), "")
    return f"bond across {point} with {p.one('LEAD')}{p.means(point)}" if point else ""


def _cover(p: Phrase) -> str:
    """The plan's first neighbour is no example of what else a line would cover."""
    others = p.mentions("CONDUCTOR", "LINE", "SWITCH") or p.says(r"\bneutral\b")
    return "" if others and not p.mentions("NEIGHBOUR") else _with("cover", "NEIGHBOUR")(p)


def _unbond(p: Phrase) -> str:
    return "\n".join(f"unbond {one}" for one in p.some("VEHICLE", "MAT"))


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
    text = " ".join(p.words)
    kinds, at = ("ROD", "VEHICLE", "STRUCTURE"), ""
    found: list[tuple[list[str], str]] = []
    names: list[str] = []
    for piece in re.split(rf"({_LENGTH})\b", text):
        if re.fullmatch(_LENGTH, piece):
            if names:
                found.append((names, piece))
            else:
                at = piece  # said before what it is of
            names = []
        else:
            names += [word for word in piece.split() if p.known.get(word) in kinds or word in p.unknown]
    if names or not found:
        kind = next((kind for kind in kinds if p.says(kind)), "ROD")
        found.append((names or [p.one(kind)], at))
    return "\n".join(f"barricade {' '.join(names)}{f' at {at}' if at else ''}" for names, at in found)


def _work(p: Phrase) -> str:
    if p.says("LEAD|ROD|BAR|TAG|LOCK|COVER|BARRICADE|GLOVES|CLEARANCE|DETECTOR"):
        return ""  # what protects the crew is a step of its own, and no words in quotes
    named = [word for word in p.words if p.known.get(word) == "PERSON"]
    text = p.quoted("work")
    if '"' not in p.text:
        one = f"(?:{'|'.join(map(re.escape, named)) or '(?!)'})"
        text = re.sub(rf"\s+by\s+{one}(?:(?:,|\s+and)?\s+{one})*(?![\w-])", "", text)
        text = re.sub(r"\s+(?:at|on)\s+(?:the\s+)?(?:pole\s+)?\d[^\s\"]*(?=\s|\"|$)", "", text)
    people = " ".join(named)  # without a name it is the work of everybody there
    return f"work {text}{f' by {people}' if people else ''}{p.at()}"


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
    return f"discharge {p.one('CAPACITOR')}{p.means('a point')}"


def _declared(keyword: str, drop: str) -> Callable[[Phrase], str]:
    """A declaration, its first words made the language's own."""

    def make(p: Phrase) -> str:
        rest, changed = re.subn(rf"^(?:{drop})\s+", "", " ".join(p.words), flags=re.IGNORECASE)
        return f"{keyword} {rest}" if changed else ""

    return make


_jumper = _declared("lead", r"(?:portable )?(?:(?:ground|earth)(?:ing)? (?:jumper|cable|set)s?|grounds|earths)")


def _vehicle(p: Phrase) -> str:
    body = re.match(r"(?:bucket )?(?:truck|bucket|crane|digger)s?", " ".join(p.words), re.IGNORECASE)
    rest = " ".join(p.words)[body.end() if body else 0 :].split()
    kind = "" if body is None or body[0].lower() == "truck" else body[0].lower()
    return f"vehicle {rest[0]} {kind} {' '.join(rest[1:])}".replace("  ", " ").strip() if rest else ""


def _switches(keyword: str, after: str = "") -> Callable[[Phrase], str]:
    return _with(keyword, "SWITCH", after=after)


def _dead_end(p: Phrase) -> str:
    return f"structure {p.structure} dead-end"


def _opened(p: Phrase, lock: bool, tag: bool) -> str:
    words = " ".join(p.words).lower()
    named = [word for word in p.words if p.known.get(word) == "PERSON"]
    switches = " ".join(p.every("SWITCH") if p.says(r"ALL SWITCH") else p.some("SWITCH"))
    seen = re.search(r"\bgap\b|\bseen\b|\bvisibl[ey]\b(?!.*\bverif)", words) is not None
    clauses = (", gap seen", seen), (", lock it", lock), (" and tag it", tag), (f" by {' '.join(named)}", named)
    verified = f"\nverify {switches} open" if re.search(r".\b(?:verif|check|confirm)", words) and not seen else ""
    return f"open {switches}{''.join(said for said, there in clauses if there)}{verified}" if switches else ""


def _open(p: Phrase) -> str:
    words = " ".join(p.words).lower()
    return _opened(p, re.search(r"\block|padlock", words) is not None, p.says("TAG") or "tag" in words)


def _isolate(p: Phrase) -> str:
    return _opened(p, True, True)


def _control(p: Phrase) -> str:
    tag = " and tag it" if re.search(r"\btag", " ".join(p.words).lower()) else ""
    return f"disable control of {' '.join(p.some('SWITCH'))}{tag}"


_lock, _tag, _untag = map(_switches, ("lock", "tag", "untag"))
_verify = _switches("verify", " open")
_unbarricade = _with("unbarricade", "ROD", "VEHICLE", "STRUCTURE")
_block = _with("block reclosing on", "SWITCH", "SOURCE", "NEIGHBOUR")
_unblock = _with("unblock reclosing on", "SWITCH", "SOURCE", "NEIGHBOUR")


def _both(*makers: Callable[[Phrase], str]) -> Callable[[Phrase], str]:
    """One statement after the other."""
    return lambda p: "\n".join(make(p) for make in makers)


def _gloves(p: Phrase) -> str:
    goods = [word for word in p.words if p.known.get(word) == "GOODS"]
    return f"gloves on {p.people()}{f' with {goods[0]}' if goods else ''}" if p.says("GLOVES") else ""


def _close(p: Phrase) -> str:
    named = [word for word in p.words if p.known.get(word) == "PERSON"]
    return f"close {p.one('SWITCH')}{f' by {named[0]}' if named else ''}"


_leave = lambda p: f"leave {p.people()}"  # noqa: E731
_requested, _received, _released = map(_clearance, ("requested", "received", "released"))

AWAY = r"(?:is |are )?(?:(?:taken )?off(?=$| (?:from|of)\b)|removed|down|away|gone|cleared)\b"
_Makers = tuple[Callable[[Phrase], str], ...]

# The first that fits gives the statements to try; several are several meanings.
SHAPES: tuple[tuple[str, _Makers], ...] = (
    (r"^(?:disconnect capacitor|discharge)", ()),
    (r"^(?:do not|don't|never).*\b(?:until|unless|before)\b", (_hold,)),
    (r"^(?:do not|don't|never)", (_note,)),
    # a thing and where it is now
    (rf"^(?:GLOVES|gloves) {AWAY}", (lambda p: f"gloves off {p.people()}",)),
    (rf"^COVER {AWAY}", (_with("uncover", "NEIGHBOUR"),)),
    (r"^LOCK off$", (_lock, _untag)),  # which may be what is done with it
    (r"^TAG off$", (_tag, _untag)),
    (r"^BARRICADE off$", (_barricade, _unbarricade)),
    (rf"^(?:LOCK|TAG)(?: and (?:LOCK|TAG))? {AWAY}", (_untag,)),
    (rf"^BARRICADE {AWAY}", (_unbarricade,)),
    # what stays as it is
    (r"^(?:leave|keep|hold|maintain|retain) (?:ALL )?(?:LEAD|TAG|LOCK|COVER|CLEARANCE|SWITCH)",
     (lambda p: "" if p.words[0] == "leaves" else _note(p),)),
    (r"\bout of service\b", (_open, _isolate)),
    (rf"^{CHECK}.*LEAD.*\b(?:off|on|down|removed|clear|cleared|gone|back|in place|installed)$", (_hold,)),
    (r"switching order|^(?:clean up|finish|job (?:complete|done)|post|station|appoint|safety observer|patrol|chock)"
     r"|^(?:block wheels|load VEHICLE)|^(?:walk|block|sound) (?:(?:down|along|out) )?(?:LINE|wheels|pole)"
     r"|^pick up tool", (_note,)),
    (r"^(?:(?:hold|conduct|give|deliver|have|do|run) )?"
     r"(?:tailboard|tailgate|toolbox|job brief|briefing|pre-job|discuss)", (_brief,)),
    (r"^(?:review|go over|talk (?:through|over)) (?:plan|job|procedure)", (_brief,)),
    (r"^brief", (_brief,)),
    # gloves
    (rf"^(?:{CHECK}|air test).*GLOVES", (_note,)),
    (rf"^(?:{TAKE}|doff).*GLOVES", (lambda p: f"gloves off {p.people()}",)),
    (r"^(?:wear|don|put|use|gloves|GLOVES).*", (_gloves,)),
    # clearance
    (r"^(?:transfer|hand|pass).*CLEARANCE", (_transfer,)),
    (r"^sign on", (_received, _note)),
    (r"(?:request|ask|apply|call).*CLEARANCE", (_requested,)),
    (r"^(?:release|give|surrender|return|cancel|close|clear|hand back|sign off).*CLEARANCE", (_released,)),
    (r"^(?:receive|obtain|get|take|accept|have|pick|gain|secure|issue).*CLEARANCE", (_received,)),
    (r"^(?:receive|obtain|get) TAG.*LINE(?! TAG)", (_received,)),
    (r"^(?:in )?clear$", (_released,)),
    (r"^CLEARANCE.* (?:returned|released|surrendered|cancell?ed|closed|handed back)", (_released,)),
    (r"^CLEARANCE.* (?:granted|given|issued|obtained|accepted|received)", (_received,)),
    (r"^CLEARANCE.* (?:requested|asked)", (_requested,)),
    (r"^(?!CLEARANCE (?:transfer|receive|release|request)).*CLEARANCE|^get ok ", (_requested, _received, _released)),
    (r"^report.*\b(?:clear|off)\b", (_released,)),
    (r"^(?:notify|tell|inform|advise|call).*ALL is clear", (_released,)),
    (r"^(?:notify|call|contact|radio|phone|advise) (?:dispatch\w*|operator|control(?: room)?)$",
     (_note, _requested, _released)),
    (r"^(?:notify|inform|tell|call|radio|advise|contact|phone|report)", (_note,)),
    # reclosing
    (r"^(?:enable|restore|turn on|switch on|unblock|put back|normal|reset|return).*RECLOSING"
     r"|RECLOSING.*(?:back|normal|restored|enabled|unblocked| on$)", (_unblock,)),
    (rf"^(?!get\b){TAKE}.*(?:one[ -]shot|non-?reclos|hot LINE TAG)", (_unblock,)),
    (r"^(?:block|disable|disarm|defeat|inhibit|turn off|switch off|cut out).*RECLOSING"
     r"|RECLOSING.*\b(?:off|blocked|disabled|out)\b|one[ -]shot|non-?(?:reclos|auto)|hot LINE TAG", (_block,)),
    # remote and automatic control
    (r"^(?:disable|disarm|block|turn off).*\bcontrols?\b", (_control,)),
    (r"^(?:enable|restore|turn on|put back).*\bcontrols?\b", (_with("enable control of", "SWITCH"),)),
    (rf"^(?:TAG|(?:{PUT}).*TAG).*\bcontrols?\b", (_with("tag control of", "SWITCH"),)),
    # locks and tags
    (rf"^(?:{TAKE}|unlock|untag)(?: (?!and\b)\S+)*? (?:TAG|LOCK)|^(?:unlock|untag)", (_untag,)),
    (r"^(?:open|isolate|switch out).*(?:LOCK|TAG|locked|tagged)", (_open,)),
    (r"^close.*(?:TAG|LOCK)", (_both(_untag, _close),)),
    (r"^LOCK.*TAG", (_both(_lock, _tag),)),
    (r"^LOCK.*dead", (_both(_lock, _test),)),
    (rf"^{PUT} LOCK.*TAG", (_both(_lock, _tag),)),
    (rf"^(?:LOCK|(?:{PUT}).*LOCK)", (_lock,)),
    (rf"^(?:red )?(?:TAG|(?:{PUT}).*TAG)", (_tag,)),
    # covers, barricades
    (rf"^{TAKE}.*COVER", (_with("uncover", "NEIGHBOUR"),)),
    (rf"^(?:COVER|(?:{PUT}).*COVER)", (_cover,)),
    (r"^(?:guard|(?:keep|stay|stand) (?:clear|back|away))", (_barricade, _note)),
    (r"^(?:keep|stay|remain|put out)", (_note,)),
    (rf"^{TAKE}.*BARRICADE", (_unbarricade,)),
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
    (r"^(?:lower|bring) (?:boom|VEHICLE)|^VEHICLE down|^(?:leave|exit)(?: PERSON|$)", (_leave,)),
    (r"^(?:climb|ascend|go up|go in|board|get in|get on|send .*up|mount pole|in(?: VEHICLE)+|belt|aloft)"
     r"|^up(?: STRUCTURE)?$", (_enter,)),
    (r"^to STRUCTURE", (_move, _enter)),
    (r"^(?:bring|lower) (?:PERSON|ALL|PEOPLE)", (_leave,)),
    (r"^(?:work|operate|elevate) (?:in|from) VEHICLE", (_enter,)),
    (r"^(?:go to|reposition|shift|relocate|swing|walk)", (_move,)),
    # vehicles
    (r"^(?:unground|unearth|unbond|take (?:ground|LEAD)).*VEHICLE", (_unbond,)),
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
    (r"^jumper (?:STRUCTURE CONDUCTOR|CONDUCTOR (?:at|on) STRUCTURE)(?: (?:with|using|by|on) (?:LEAD|STICK|hand))*$",
     (_bond_across,)),
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
    (r"^(?:stop and|stop |stand by|do not|wait for|wait until|hold)", (_hold,)),
    (r"^(?:change|replace|repair|install|perform|remove|fit|transfer|mend|work)", (_work,)),
    # things
    (r"^PEOPLE", (lambda p: f"crew {' '.join(p.words)}",)),
    (r"^(?:LEAD)", (_jumper,)),
    (r"^VEHICLE", (_vehicle,)),
)  # fmt: skip


BESIDE = {
    "out", "in", "up", "off", "down", "over", "back", "dead", "live", "energized", "de-energized", "deenergized",
    "voltage", "works", "service", "neutral", "through", "thru",
}  # fmt: skip
"""Words that stand beside verbs and things."""


SAYING_NO_MORE = {
    "at", "on", "to", "with", "and", "from", "for", "of", "by", "my", "your", "his", "her", "their", "is", "are",
    "it", "that", "using", "around", "before", "after", "between", "together", "first", "reverse", "in", "dispatch",
    "dispatcher", "gives", "operator", "control", "controls", "room", "name", "job", "meeting", "briefing", "brief",
    "tailboard", "talk", "plan", "open", "close", "clear", "removed", "issued", "returned", "cancelled", "granted",
    "isolation", "absence", "potential", "nominal", "normal", "use", "damage", "pole", "tower", "boom", "load",
    "supply", "work", "point", "side", "either", "clamp", "clamps", "jumpers", "spike", "splice", "barrel", "hand",
    "shot", "one", "hot", "non-reclose", "non-reclosing", "non-automatic", "automatic", "remote", "isolating",
    "tie", "alive", "everything", "sure", "safety", "own", "additional", "earthing", "test", "prove", "short",
    "hang", "request", "log", "brush", "shock", "lightning", "night", "lunch", "day", "coffee", "minutes", "away",
    "position", "order",
    "deep", "depth", "feet", "ft", "under",
}  # fmt: skip
"""Words after a verb that a statement need not say: those that join others, and those that its keyword says already."""


def is_of_the_trade(text: str, known: Mapping[str, str]) -> bool:
    """Whether a line has a word, beside its verb, in which a crew's steps are written and that is no name here."""
    words = [word for word in _WORD.findall(text)[1:] if word not in known]
    return any(word in BESIDE or is_noun(word) for word in words)


def kind_of(word: str) -> str:
    """The kind of thing that crews mean by a word after a verb; empty where they mean none."""
    after_a_verb = f"put {word.lower()}"
    return next((kind for pattern, kind in _NOUNS if pattern.fullmatch(after_a_verb, 4)), "")


def is_word(word: str) -> bool:
    """Whether a word in small letters is one of a crew's, and no name."""
    verbs = rf"{PUT}|{TAKE}|{CHECK}|{_VERBS}|then|and|it"
    return word in BESIDE or is_noun(word) or re.fullmatch(verbs, word) is not None


def is_noun(word: str) -> bool:
    """Whether a word, after a verb, is what crews call a thing."""
    return kind_of(word) != ""


def said_in_statements(text: str, known: Mapping[str, str], reads: Callable[[str], bool]) -> tuple[Meant, ...]:
    """What a line could mean; nothing where its words are not known, or where what they come to says less than they do.
    ``reads`` tells whether a statement does."""
    phrase = Phrase(text, known)
    for pattern, makers in SHAPES:
        if phrase.says(pattern):
            tried = dict.fromkeys(made for make in makers if (made := make(phrase).strip()))
            found = [made for made in tried if all(map(reads, made.split("\n")))]
            if found or not makers:
                return tuple(meant for made in found if (meant := phrase.offers(made)) is not None)
    return ()

"""Automatic numbers, counted from a document's numbering definitions as Word counts them (ISO/IEC 29500-1, 17.9)."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from groundlint.reading.word.names import child, on, value, w
from groundlint.reading.word.styles import Styles

MOST_LEVELS = 9


class Label(NamedTuple):
    """An automatic number as it is shown, empty for none; ``number`` is it in full and bare, as people call the step,
    empty for a bullet; ``form`` names a form of number that is not counted here."""

    text: str = ""
    number: str = ""
    form: str = ""


class Numbers:
    """Counts the numbered paragraphs of one document, which are to be asked about in their order."""

    def __init__(self, definitions: Any, styles: Styles) -> None:
        """``definitions`` is the part ``numbering``, or None."""
        self.styles = styles
        self.lists: dict[str, Any] = {}
        self.abstract: dict[str, Any] = {}
        for one in definitions if definitions is not None else ():
            if one.tag == w("abstractNum"):
                self.abstract[one.get(w("abstractNumId"), "")] = one
            elif one.tag == w("num"):
                self.lists[one.get(w("numId"), "")] = one
        self.counts: dict[str, list[int | None]] = {}
        self.begun: set[tuple[str, int]] = set()

    def level(self, number: str, depth: int) -> Any:
        """The definition of a level of a list: its own, else that of the list that it goes by."""
        one = self.lists.get(number)
        if one is None:
            return None
        for override in one.iterchildren(w("lvlOverride")):
            if override.get(w("ilvl")) == str(depth) and (own := child(override, "lvl")) is not None:
                return own
        _, abstract = self._abstract(number)
        levels = abstract.iterchildren(w("lvl")) if abstract is not None else ()
        return next((level for level in levels if level.get(w("ilvl")) == str(depth)), None)

    def depth_of_style(self, number: str, style: str) -> int | None:
        """The level of a list that a style stands for."""
        for depth in range(MOST_LEVELS):
            level = self.level(number, depth)
            if level is not None and value(level, "pStyle") == style:
                return depth
        return None

    def next(self, number: str, depth: int) -> Label:
        """The number of the next paragraph of a list at a level."""
        level = self.level(number, depth)
        if level is None:
            return Label()
        key, _ = self._abstract(number)
        counts = self.counts.setdefault(key, [None] * MOST_LEVELS)
        for upper in range(depth + 1):
            if (number, upper) not in self.begun and (start := self._started_anew(number, upper)) is not None:
                counts[upper] = start - 1 if upper == depth else start
            self.begun.add((number, upper))
        for upper in range(depth):
            if counts[upper] is None:
                counts[upper] = self._start(number, upper)
        now = counts[depth]
        counts[depth] = self._start(number, depth) if now is None else now + 1
        for lower in range(depth + 1, MOST_LEVELS):
            restart = value(self.level(number, lower), "lvlRestart")
            if restart is None or (restart != "0" and depth < int(restart)):
                counts[lower] = None
        return self._label(number, depth, level, counts)

    def _label(self, number: str, depth: int, level: Any, counts: list[int | None]) -> Label:
        form = value(level, "numFmt") or "decimal"
        text = value(level, "lvlText") or ""
        if form == "bullet":
            return Label("•" if text else "")
        forms: list[str] = []
        legal = on(level, "isLgl")

        def shown(found: re.Match[str]) -> str:
            at = int(found[1]) - 1
            of = self.level(number, at)
            count = counts[at]
            if of is None or count is None or at > depth:
                return ""
            own = value(of, "numFmt") or "decimal"
            said = in_form(count, "decimal" if legal and own != "none" else own)
            if said is None:
                forms.append(own)
            return said or ""

        made = re.sub("%([1-9])", shown, text)
        bare = _bare(made)
        if form == "none" and "%" not in text:
            return Label(made)
        if depth and bare and not any(f"%{at}" in text for at in range(1, depth + 1)):
            above = self._label(number, depth - 1, self.level(number, depth - 1), counts).number
            bare = f"{above} {bare}".strip()
        return Label(made, bare, forms[0] if forms else "")

    def _abstract(self, number: str) -> tuple[str, Any]:
        """What a list goes by, and the key of it; a style of lists leads on to the list that it names."""
        key = value(self.lists.get(number), "abstractNumId") or ""
        for _ in range(MOST_LEVELS):
            abstract = self.abstract.get(key)
            link = value(abstract, "numStyleLink")
            if link is None:
                return key, abstract
            key = value(self.lists.get(self.styles.list_of(link)), "abstractNumId") or ""
        return key, None

    def _start(self, number: str, depth: int) -> int:
        start = value(self.level(number, depth), "start")
        anew = self._started_anew(number, depth)
        return anew if anew is not None else _whole(start)

    def _started_anew(self, number: str, depth: int) -> int | None:
        for override in self.lists[number].iterchildren(w("lvlOverride")):
            if override.get(w("ilvl")) == str(depth) and (start := value(override, "startOverride")) is not None:
                return _whole(start)
        return None


def _whole(text: str | None) -> int:
    return int(text) if text is not None and re.fullmatch("-?[0-9]{1,6}", text) else 0


def _bare(label: str) -> str:
    """A number without what stands around it: ``3`` of ``Step 3.``"""
    found = re.search(r"[0-9A-Za-z]+(?:[.\-][0-9A-Za-z]+)*(?=[^0-9A-Za-z]*$)", label)
    return found[0] if found else ""


def in_form(count: int, form: str) -> str | None:
    """A count in a form of numbers; None for a form that is not known here."""
    if form == "none":
        return ""
    if form == "decimal":
        return str(count)
    if form == "decimalZero":
        return f"{count:02d}"
    if count < 1 or count > 3999:
        return None
    if form in ("lowerLetter", "upperLetter"):
        letters = chr(ord("a") + (count - 1) % 26) * ((count - 1) // 26 + 1)
        return letters if form == "lowerLetter" else letters.upper()
    if form in ("lowerRoman", "upperRoman"):
        roman = _roman(count)
        return roman.lower() if form == "lowerRoman" else roman
    return None


_ROMAN = ((1000, "M"), (900, "CM"), (500, "D"), (400, "CD"), (100, "C"), (90, "XC"), (50, "L"), (40, "XL"), (10, "X"))
_UNITS = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")


def _roman(count: int) -> str:
    said = ""
    for amount, sign in _ROMAN:
        said += sign * (count // amount)
        count %= amount
    return said + _UNITS[count]

"""The spellings of both traditions, and the parts of phrases that statements share."""

from __future__ import annotations

from collections.abc import Iterable

from groundlint.language import statements as s

EARTH_KEYWORDS = {
    "no grounds": "no earths",
    "rod": "earth-rod",
    "lead": "earthing-lead",
    "detector": "voltage-indicator",
    "tester": "proving-unit",
    "stick": "operating-pole",
    "shield": "earthwire",
    "no shield wire": "no earthwire",
    "clearance": "permit",
}
_EARTH_WORDS = {
    "ground": "earth",
    "pole ground": "pole earth",
    "to ground": "to earth",
    "multigrounded": "multi-earthed",
    "unigrounded": "single-earthed",
    "aluminum": "aluminium",
    "lineman": "linesman",
    "clearance": "permit",
}


class Words:
    """Spellings in one tradition, and the clauses that several statements share."""

    def __init__(self, earth: bool) -> None:
        self.earth = earth

    def __call__(self, word: str) -> str:
        """The spelling of a word out of a fixed choice."""
        return _EARTH_WORDS.get(word, word) if self.earth else word

    def points(self, points: Iterable[str]) -> str:
        """A structure and its conductors; the words of a choice in this tradition."""
        return " ".join(self(str(point)) for point in points)

    def point(self, point: str) -> str:
        """A point, its feature in this tradition."""
        from groundlint.language.nodes import split_feature

        words, feature = split_feature(point)
        return " ".join([*words, self(feature)] if feature else words)

    def end(self, end: s.End) -> str:
        """A point and the means."""
        return f"{self.point(end.point)}{self.means(end.by, end.by_hand)}"

    def means(self, stick: str | None, by_hand: bool) -> str:
        """`` by H1``, `` by hand``, or nothing; with its blank before."""
        return (f" by {stick}" if stick else "") + (" by hand" if by_hand else "")


def names(words: Iterable[str]) -> str:
    """Names in a row."""
    return " ".join(words)


def quoted(text: str | None) -> str:
    """A text in its quotes, nothing for none."""
    return f'"{text}"' if text is not None else ""


def after(word: str, value: str | None) -> str:
    """A clause of a word and its value, nothing where there is none."""
    return f"{word} {value}" if value is not None else ""


def when(condition: bool, words: str) -> str:
    """The words of a flag that is set."""
    return words if condition else ""

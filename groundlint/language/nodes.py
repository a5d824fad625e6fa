"""The smallest parts of a statement: names, amounts, points, dates and words, each a string that knows its place.

They are strings so that the published JSON model holds plain text, and so that two readings of the same words are
equal wherever they stood. Where a part came from no text, its place is that of the empty source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from groundlint.text import Source, Span
from groundlint.values.units import Quantity, UnitProblem, parse_quantity

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema

NOWHERE = Span(Source("", ""), 0, 0)


At = tuple[Source, int, int]
"""A place as source, start and end: a span that is made only when asked for."""
_NO_PLACE: At = (NOWHERE.source, 0, 0)


class Node(str):
    """A part of a statement as written, with its span; equal to any string of the same text."""

    __slots__ = ("place",)
    place: At

    def __new__(cls, text: str, span: Span = NOWHERE) -> Self:
        """A node of ``text`` at ``span``."""
        return cls.at(text, (span.source, span.start, span.end))

    @classmethod
    def at(cls, text: str, place: At = _NO_PLACE) -> Self:
        """A node of ``text`` at a place."""
        self = str.__new__(cls, text)
        self.place = place
        return self

    @property
    def span(self) -> Span:
        """Where it stands."""
        return Span(*self.place)

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (str(self), self.span))

    @classmethod
    def __get_pydantic_core_schema__(cls, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(
            cls,
            core_schema.str_schema(min_length=1, pattern=cls.pattern()),
            serialization=core_schema.plain_serializer_function_ser_schema(str),
        )

    @classmethod
    def pattern(cls) -> str | None:
        """The form the text must have in the JSON model, as a regular expression; None for any."""
        return None


class Name(Node):
    """A name of the plan's own, or a range of them (``G1..G5``)."""

    __slots__ = ()

    @classmethod
    def pattern(cls) -> str | None:
        """One word of letters, digits, ``_``, ``-`` and single dots; two of them with ``..`` between for a range."""
        return r"^\w[\w.-]*$"


class Text(Node):
    """A quoted text, without its quotes."""

    __slots__ = ()

    @classmethod
    def pattern(cls) -> str | None:
        """Anything on one line without double quotes."""
        return r'^[^"\n]*$'


class Word(Node):
    """A word out of a fixed choice, in its main spelling; the span holds the spelling used."""

    __slots__ = ()


class Date(Node):
    """A calendar date, ``2026-03-02``."""

    __slots__ = ()

    @classmethod
    def pattern(cls) -> str | None:
        """ISO 8601 year-month-day."""
        return r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"


class Size(Node):
    """A wire size as written: ``2/0``, ``2 AWG``, ``336.4 kcmil``, ``95 mm2``."""

    __slots__ = ()


class Point(Node):
    """A point as written: a structure and a conductor (``212 A``), a thing's name (``R1``), or a feature (``212 pole
    ground``)."""

    __slots__ = ("feature", "words")
    words: tuple[Name, ...]
    feature: Word | None

    @classmethod
    def at(cls, text: str, place: At = _NO_PLACE) -> Self:
        """A point from its words; what is not a known feature is a name."""
        self = str.__new__(cls, text)
        self.place = place
        words, feature = split_feature(text)
        self.words = tuple([Name.at(word, place) for word in words])
        self.feature = Word.at(feature, place) if feature else None
        return self


FEATURES = ("pole ground", "near side", "far side", "pole", "steel", "guy", "footing", "handle", "feet", "ground")


def split_feature(text: str) -> tuple[list[str], str | None]:
    """The names and the feature of a point's text, ``212 pole ground`` giving ``(["212"], "pole ground")``."""
    words = text.split()
    for feature in FEATURES:
        tail = feature.split()
        if words[-len(tail) :] == tail:
            return words[: -len(tail)], feature
    return words, None


class Amount(Node):
    """A quantity with its unit (``12.47 kV``), or a value left open (``given fault-current``)."""

    __slots__ = ("given", "quantity")
    quantity: Quantity | None
    given: Name | None

    @classmethod
    def at(cls, text: str, place: At = _NO_PLACE) -> Self:
        """An amount from its text; raises ValueError where the text is neither a quantity nor ``given NAME``."""
        if text.startswith("given "):
            return cls.read(text, None, place)
        parsed = parse_quantity(text)
        if isinstance(parsed, UnitProblem):
            raise ValueError(f"{text!r} is not a number with a known unit")
        return cls.read(text, parsed, place)

    @classmethod
    def read(cls, text: str, quantity: Quantity | None, place: At) -> Self:
        """An amount already read; without a quantity the text is ``given NAME``."""
        self = str.__new__(cls, text)
        self.place = place
        self.quantity = quantity
        self.given = Name.at(text[6:].strip(), place) if quantity is None else None
        return self

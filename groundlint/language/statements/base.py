"""What statements are made of: their fields, their groups of words, and what every statement carries."""

from __future__ import annotations

from dataclasses import Field, dataclass, field, fields
from functools import cache
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, dataclass_transform, get_args

from groundlint.language.nodes import NOWHERE, Amount, Name
from groundlint.text import Span
from groundlint.values.record import Record, record

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema


def doc(meaning: str, *, clause: str = "", many: bool = False, dimension: str = "", **kwargs: Any) -> Any:
    """A field that an absent clause leaves unknown: its meaning, clause, whether it may come more than once, its
    dimension."""
    default: Any = () if many else None
    return field(
        default=default, metadata={"doc": meaning, "clause": clause, "many": many, "dimension": dimension}, **kwargs
    )


def need(meaning: str, *, clause: str = "", many: bool = False, dimension: str = "") -> Any:
    """A field that the statement cannot be without."""
    return field(metadata={"doc": meaning, "clause": clause, "many": many, "dimension": dimension})


def flag(meaning: str, *, clause: str = "") -> Any:
    """A field that is true where its clause stands."""
    return field(
        default=False, metadata={"doc": meaning, "clause": clause, "many": False, "dimension": "", "flag": True}
    )


def row(meaning: str, *, dimension: str = "") -> Any:
    """A field of several words in one clause, empty where the clause is absent."""
    return field(default=(), metadata={"doc": meaning, "clause": "", "many": False, "dimension": dimension})


Names = tuple[Name, ...]
S = TypeVar("S")


class ByKind:
    """Marks a union of statements whose ``kind`` says which it is, for the JSON schema; pydantic is imported only when
    it asks."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        from pydantic_core import core_schema

        choices = {cls.kind: handler.generate_schema(cls) for cls in get_args(source)}
        return core_schema.tagged_union_schema(choices, discriminator="kind")


# What the JSON of a statement holds: nothing but its fields, named without a last underscore.
JSON_CONFIG: dict[str, Any] = {"extra": "forbid", "alias_generator": lambda name: name.rstrip("_")}


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(doc, need, flag, row))
def statement(cls: type[S]) -> type[S]:
    """Make a class into a record whose fields are the clauses of a statement."""
    return record(cls)


class Part:
    """A group of words inside a statement."""

    __pydantic_config__: ClassVar[dict[str, Any]] = JSON_CONFIG


@dataclass(frozen=True)
class Away(Part):
    """How far a rod is from another."""

    distance: Amount
    rod: Name


@statement
class Statement(Record):
    """What every statement may carry beside its words."""

    span: ClassVar[Span] = NOWHERE
    places: ClassVar[dict[str, Span]] = {}
    group: ClassVar[str] = ""
    __pydantic_config__: ClassVar[dict[str, Any]] = JSON_CONFIG

    number: str | None = doc("step number as written, `4`, `4a` or `3.2.1`")
    comment: str | None = doc("comment at the end of the line, without its `#`")
    before: tuple[str, ...] = doc("comment lines above, without their `#`; an empty string is a blank line", many=True)

    def placed(self, span: Span, places: dict[str, Span]) -> Statement:
        """The same statement, with the place of the whole and of each field."""
        object.__setattr__(self, "span", span)
        object.__setattr__(self, "places", places)
        return self

    def place(self, field_name: str) -> Span:
        """Where a field was said, or the whole statement where it was not."""
        return self.places.get(field_name, self.span)


@cache
def clause_fields(cls: type[Statement]) -> dict[str, Field[Any]]:
    """The fields of a statement by the grammar's clause that fills each."""
    return {
        f.metadata.get("clause") or f.name: f
        for f in fields(cls)
        if f.name not in ("kind", "number", "comment", "before")
    }

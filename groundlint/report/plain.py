"""Records as plain values: the fields that reports for programs are made of, each with its meaning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, fields, is_dataclass
from typing import Any


def doc(meaning: str) -> Any:
    """A field of a record, with the meaning that the published schema gives it."""
    return field(metadata={"doc": meaning})


def bare(value: Any) -> Any:
    """What JSON holds of a record: its fields by name, lists, texts, numbers."""
    if is_dataclass(value) and not isinstance(value, type):
        return {entry.name: bare(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [bare(member) for member in value]
    return value

"""Plans that say less: one declaration, or one clause of a statement, taken out at a time; the steps stay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, replace
from typing import Any

from groundlint.language.statements import (
    Header,
    PlanText,
    Property,
    Routine,
    Statement,
    Step,
    Thing,
    clause_fields,
)

# Fields without which a statement says something else, not less: what the step is about, `no neutral` for a neutral
# without its name, a test that passes for one that finds the line live.
KEPT = {
    ("neutral", "name"),
    ("shield", "names"),
    ("brief", "people"),
    ("brief", "all"),
    ("leave", "people"),
    ("leave", "all"),
    ("do", "names"),
    ("repeat", "names"),
    ("clears", "amount"),
    ("clears", "never"),
    ("routine", "params"),
    ("routine", "body"),
    ("test", "result"),
}
# Fields that stand and fall together.
TOGETHER = {
    "pole_ground": ("pole_ground", "pole_ground_resistance"),
    "gap": ("gap", "gap_from"),
    "gap_from": ("gap", "gap_from"),
}
# Lists of names of which one may go: what is listed is then not said of it.
LISTS = {
    "no_source",
    "no_neighbour",
    "no_grounds",
    "structure",
    "rod",
    "bar",
    "lead",
    "stick",
    "vehicle",
    "detector",
    "tester",
}


def less(text: PlanText) -> Iterator[tuple[str, PlanText]]:
    """Every plan that says one thing less, with what it does not say."""
    for at, statement in enumerate(text.statements):
        if isinstance(statement, (Header, Property, Thing)):
            # the properties of a line or source go with it
            end = at + 1
            if isinstance(statement, Thing):
                while end < len(text.statements) and isinstance(text.statements[end], Property):
                    end += 1
            yield (
                f"{statement.kind} (statement {at + 1})",
                replace(text, statements=(*text.statements[:at], *text.statements[end:])),
            )
        for what, one in clauses(statement):
            yield (
                f"{what} (statement {at + 1})",
                replace(text, statements=(*text.statements[:at], one, *text.statements[at + 1 :])),
            )


def clauses(statement: Statement) -> Iterator[tuple[str, Any]]:
    """The statement with one clause less, each in turn."""
    kind = str(getattr(statement, "kind", ""))
    if isinstance(statement, Routine):
        for at, step in enumerate(statement.body):
            for what, one in clauses(step):
                yield (
                    f"{what} in routine {statement.ident}",
                    replace(statement, body=(*statement.body[:at], one, *statement.body[at + 1 :])),
                )
        return
    for spec in clause_fields(type(statement)).values():
        name, value = spec.name, getattr(statement, spec.name)
        if (kind, name) in KEPT:
            continue
        if spec.default is not MISSING and value != spec.default:
            gone = TOGETHER.get(name, (name,))
            blank = {f.name: f.default for f in clause_fields(type(statement)).values() if f.name in gone}
            yield f"{kind}: {name}", replace(statement, **blank)
        if isinstance(value, tuple):
            for at, part in enumerate(value):
                for what, smaller in _parts(part):
                    yield (
                        f"{kind}: {name}: {what}",
                        replace(statement, **{name: (*value[:at], smaller, *value[at + 1 :])}),
                    )
                if (
                    kind in LISTS
                    and name in ("names", "conditions")
                    and len(value) > 1
                    and not isinstance(statement, Step)
                ):
                    yield f"{kind}: {part}", replace(statement, **{name: (*value[:at], *value[at + 1 :])})


def _parts(part: Any) -> Iterator[tuple[str, Any]]:
    """A part of a statement with one of its own values less: how an end goes on, a span's length, who is qualified."""
    for name, blank in (("by", None), ("by_hand", False), ("span_length", None), ("qualified", None), ("metal", None)):
        if getattr(part, name, blank) not in (None, False) or (
            name == "qualified" and getattr(part, name, None) is False
        ):
            yield name, replace(part, **{name: blank})

"""Insulating goods that a step puts on: what the steps that do so share."""

from __future__ import annotations

from groundlint.plan.models import Action, Rubber
from groundlint.steps.kind import Slot

GOODS = Slot("goods", "rubber", "with", many=True, optional=True, meaning="the insulating goods that go on")


def rubber(action: Action) -> tuple[Rubber, ...]:
    """The insulating goods that a step puts on; empty where it names none."""
    goods = action.slots.get("goods")
    return tuple(one for one in goods if isinstance(one, Rubber)) if isinstance(goods, tuple) else ()


def with_rubber(action: Action) -> str:
    """Those goods in words, with their class."""
    named = (f"{one} (class {one.rating})" if one.rating else str(one) for one in rubber(action))
    return f" with {', '.join(named)}" if rubber(action) else ""

"""Values of a rule's terms: joined by arithmetic, compared, held against a step's slots. Truths are 0, 1 and 2."""

from __future__ import annotations

from math import isclose, isnan

from groundlint.facts.catalogue import SlotValue, Value
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import combine, ends

CLOSE = 1e-9
"""Relative difference up to which two quantities count as equal: rounding of conversions must not break a rule."""

UNDEFINED = Unknown.of("a value that can be computed (it divides by zero or passes all bounds)")


def arithmetic(sign: str, left: Value, right: Value) -> Value:
    """Two values joined: ``None`` if either is ``None``, `Unknown` if either is unknown or the result has no value."""
    if left is None or right is None:
        return None
    if left.__class__ is Unknown:
        return left | right if right.__class__ is Unknown else left
    if right.__class__ is Unknown:
        return right
    if left.__class__ is Bounds or right.__class__ is Bounds:
        within = combine(sign, left, right)
        return UNDEFINED if within is None else within
    if sign == "/":
        found = left / right if right else float("nan")
    else:
        found = left + right if sign == "+" else left - right if sign == "-" else left * right
    return UNDEFINED if isnan(found) else found


def compare(sign: str, left: Value, right: Value) -> int:
    """Truth of a comparison of two values."""
    if left is None or right is None:
        return 2 if sign == "!=" else 0
    if left.__class__ is Unknown or right.__class__ is Unknown:
        return 1
    if left.__class__ is Bounds or right.__class__ is Bounds:
        return _compare_bounds(sign, left, right)
    if isinstance(left, float) and isinstance(right, (float, int)):
        if isnan(left) or isnan(right):
            return 1
        same = left == right or isclose(left, right, rel_tol=CLOSE)
    else:
        same = left == right
    match sign:
        case "=":
            holds = same
        case "!=":
            holds = not same
        case "<=":
            holds = same or left < right
        case ">=":
            holds = same or left > right
        case "<":
            holds = not same and left < right
        case _:
            holds = not same and left > right
    return 2 if holds else 0


def _compare_bounds(sign: str, left: Value, right: Value) -> int:
    """Truth of a comparison of quantities known within bounds: that it holds throughout, nowhere, or in part."""
    (a, b), (c, d) = ends(left), ends(right)
    match sign:
        case "<" | "<=":
            return max(compare(sign, b, c), min(compare(sign, a, d), 1))
        case ">" | ">=":
            return max(compare(sign, a, d), min(compare(sign, b, c), 1))
        case "=":
            return min(_compare_bounds("<=", left, right), _compare_bounds(">=", left, right))
    return 2 - _compare_bounds("=", left, right)


def slot_match(stated: SlotValue, wanted: Value) -> int:
    """Whether a slot names a thing: false where it names none, unknown where it or the thing is unstated."""
    if stated is None or stated == () or wanted is None:
        return 0
    if wanted.__class__ is Unknown or stated.__class__ is Unknown:
        return 1
    if type(stated) is tuple:  # and not a thing that is a named tuple
        if wanted in stated:
            return 2
        return 1 if any(member.__class__ is Unknown for member in stated) else 0
    return 2 if stated == wanted else 0

"""What of the stated equipment is used for what: leads are given out so that all that need one get one that fits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple, TypeVar

from groundlint.facts.clamps import misfits
from groundlint.plan.models import Conductor, Detector, Equipment, Lead, Stick

Thing = TypeVar("Thing")


class Want(NamedTuple):
    """A lead that something needs: the least length in m, and what its clamps go on."""

    length: float = 0.0
    on: tuple[Conductor, ...] = ()

    def met_by(self, lead: Lead) -> bool:
        """Nothing that is stated of the lead speaks against it."""
        short = lead.length is not None and lead.length < self.length
        return not short and not any(misfits(lead, one) for one in self.on)


def in_use(things: Iterable[Thing], dated: date | None) -> list[Thing]:
    """Things in the order given, equipment that is past its date last."""
    return sorted(
        things,
        key=lambda one: isinstance(one, Equipment) and None not in (dated, one.due) and one.due < dated,  # type: ignore[operator]
    )


def given_out(wants: Sequence[Want], leads: Sequence[Lead]) -> list[Lead] | None:
    """A lead for each want, the first that leaves enough for those after it; None where they can't all be met."""
    fits = [[place for place, lead in enumerate(leads) if want.met_by(lead)] for want in wants]
    found: list[int] = []
    for at, among in enumerate(fits):
        free = (one for one in among if one not in found and _all_met(fits[at + 1 :], {*found, one}))
        place = next(free, None)
        if place is None:
            return None
        found.append(place)
    return [leads[place] for place in found]


def _all_met(fits: Sequence[Sequence[int]], gone: set[int]) -> bool:
    """Whether each row can have a place of its own, with some gone."""
    has: dict[int, int] = {}

    def placed(row: int, tried: set[int]) -> bool:
        for place in fits[row]:
            if place not in gone and place not in tried:
                tried.add(place)
                if place not in has or placed(has[place], tried):
                    has[place] = row
                    return True
        return False

    return all(placed(row, set()) for row in range(len(fits)))


def detectors_for(things: Sequence[Detector], voltages: Sequence[float]) -> list[Detector]:
    """One that is made for all the voltages that can be there; where none is, one for each that there is one for."""
    whole = next((one for one in things if all(_covers(one, volts) for volts in voltages)), None)
    if whole is not None:
        return [whole]
    found = [next((one for one in things if _covers(one, volts)), None) for volts in voltages]
    return list(dict.fromkeys(one for one in found if one is not None)) or [things[0]]


def _covers(one: Detector, volts: float) -> bool:
    return (one.lowest is None or one.lowest <= volts) and (one.highest is None or one.highest >= volts)


def longest(sticks: Sequence[Stick]) -> Stick | None:
    """The longest stick, the first of those as long."""
    return max(sticks, key=lambda one: one.length or 0.0) if sticks else None

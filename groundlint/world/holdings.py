"""How many clearances each person or crew holds, between a least and a most, as steps may name nobody.

A step that names nobody may be anybody's: it lowers what each surely holds, and what somebody unnamed received or took
over counts apart, under None. A step of somebody who holds nothing changes nothing; rules ask about that.
"""

from __future__ import annotations

from groundlint.plan.models import Person

Holder = Person | str | None
"""Who holds a clearance: a person, a crew by its name, or nobody named."""

RECEIVED = "received"
UNSETTLED = "unsettled"
"""A clearance that was received, and that may have been released or transferred: a step in between names nobody."""


class Holdings:
    """Clearances by holder, and all that are out."""

    def __init__(self) -> None:
        self._of: dict[Holder, tuple[int, int]] = {}
        self._out = (0, 0)

    def state(self, holder: Holder) -> str | None:
        """``received`` where the holder surely has one, ``unsettled`` where perhaps, None where surely not."""
        return _state(self._of.get(holder, (0, 0)))

    def of_all(self) -> str | None:
        """``received`` while somebody surely holds one, ``unsettled`` while somebody may, None while nobody does."""
        return _state(self._out)

    def receive(self, holder: Holder) -> None:
        """One more is out."""
        self._change(holder, 1, 1)
        self._out = (self._out[0] + 1, self._out[1] + 1)

    def release(self, holder: Holder) -> None:
        """One less is out, if who releases it has one."""
        least, most = self._out
        if holder is not None and self.state(holder) == RECEIVED:
            self._change(holder, -1, -1)
            most -= 1
        elif self._may_have(holder):
            self._doubt(holder)
            if holder is not None:
                self._change(holder, 0, -1)
        else:
            return
        self._out = (max(least - 1, 0), min(most, sum(high for _, high in self._of.values())))

    def transfer(self, holder: Holder, taker: Holder) -> None:
        """The taker has one more and the holder one less, if the holder has one; as many are out as before."""
        if holder is not None and holder == taker:
            return
        if holder is not None and self.state(holder) == RECEIVED:
            self._change(holder, -1, -1)
            self._change(taker, 1, 1)
        elif self._may_have(holder):
            least, _ = self._of.get(taker, (0, 0))
            self._doubt(holder)
            if holder is not None:
                self._change(holder, 0, -1)
            self._of[taker] = (least, self._of.get(taker, (0, 0))[1] + 1)

    def _may_have(self, holder: Holder) -> bool:
        """Whether this one, or who it may be where nobody is named, may have a clearance."""
        return self._out[1] > 0 and (holder is None or self.state(holder) is not None or self.state(None) is not None)

    def _doubt(self, holder: Holder) -> None:
        """One less is sure of everybody whom the step may be of: anybody, if it names nobody."""
        for one in self._of if holder is None else (holder, None):
            self._change(one, -1, 0)

    def _change(self, holder: Holder, least: int, most: int) -> None:
        low, high = self._of.get(holder, (0, 0))
        self._of[holder] = (max(low + least, 0), max(high + most, 0))


def _state(held: tuple[int, int]) -> str | None:
    least, most = held
    return RECEIVED if least > 0 else UNSETTLED if most > 0 else None


__all__ = ["RECEIVED", "UNSETTLED", "Holder", "Holdings"]

"""Cables of a line: their vaults take their places on the route, between the two structures that a cable ends at."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import NamedTuple, TypeAlias

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name
from groundlint.plan.models import Cable, Structure, Thing, Vault
from groundlint.plan.names import Names
from groundlint.text import Span


class Stop(NamedTuple):
    """A place on the route: which it is, counted from 0, the length in m of what follows it, where its name stands, and
    where that length."""

    order: int
    after: float | None
    name: Name
    length: Amount | None = None

    @property
    def places(self) -> dict[str, Span]:
        """Where what is stated of it stands."""
        return {"span_after": self.length.span} if self.length is not None else {}


Lengths: TypeAlias = Callable[[Amount | None, str, str], float | None]
_FORM = "cable UG1 from 212 to 213 by MH1 (60 m) MH2 (40 m)"


def lay_cables(names: Names, positive: Lengths, route: dict[str, Stop], cables: list[s.Cable]) -> list[s.Cable]:
    """Put the vaults of cables into the route; gives the cables that could be laid.

    A length stands after a vault, as it does after a structure of the route. What is left of the span in which a cable
    lies is the piece before its first vault; where a length is not stated, that piece has none either.
    """
    laid: list[s.Cable] = []
    stops = dict(route)
    order = list(route)
    spans = list(itertools.pairwise(order))
    taken: dict[frozenset[str], s.Cable] = {}
    for st in cables:
        if len(st.terminals) != 2:
            names.refuse("which-terminals", st.span, f"cable {st.name} ends where?", f"write it like `{_FORM}`")
            continue
        one, other = (names.stand_ins.get(text) or str(text) for text in st.terminals)
        if not route:
            laid.append(st)
            continue
        ends = frozenset((one, other))
        if (one, other) not in spans and (other, one) not in spans:
            place = st.terminals[0].span.to(st.terminals[1].span)
            mend = "name two neighbours on the route; the vaults between them stand in the cable's line alone"
            names.refuse("not-a-span", place, f"{one} and {other} are no neighbours on the route", mend)
            continue
        if ends in taken:
            words = f"cable {taken[ends].name} runs from {one} to {other} already"
            names.refuse("declared-twice", st.span, words, "keep one", (taken[ends].span, "declared here"))
            continue
        taken[ends] = st
        first = one if (one, other) in spans else other
        pieces = [positive(hop.span_length, "length", "a length of cable") for hop in st.vaults]
        run = [_rest(names, st, stops[first].after, pieces), *pieces]
        vaults = [hop.structure for hop in st.vaults]
        if first == other:
            run, vaults = run[::-1], vaults[::-1]
        stops[first] = stops[first]._replace(after=run[0], length=None)
        at = order.index(first) + 1
        for name, length in zip(vaults, run[1:], strict=True):
            if name in stops:
                words = f"{name} has a place on the route already"
                related = (stops[name].name.span, f"{name} stands here")
                names.refuse("declared-twice", name.span, words, "give this vault another name", related)
                continue
            stops[str(name)] = Stop(0, length, name)
            order.insert(at, str(name))
            at += 1
        laid.append(st)
    route.clear()
    route.update({name: stops[name]._replace(order=index) for index, name in enumerate(order)})
    return laid


def _rest(names: Names, st: s.Cable, whole: float | None, pieces: list[float | None]) -> float | None:
    """How much of a span lies before the first vault of the cable in it; None where that is not stated."""
    stated = [piece for piece in pieces if piece is not None]
    if whole is None or len(stated) < len(pieces):
        return None
    if sum(stated) < whole or not stated:
        return whole - sum(stated)
    place = st.vaults[-1].structure.span
    mend = "correct the lengths, of which each stands after its vault, or the span in the route"
    names.refuse("longer-than-its-span", place, f"cable {st.name} is as long as its span, or longer", mend)
    return None


def dig_vaults(names: Names, route: dict[str, Stop], cables: list[s.Cable]) -> list[Thing]:
    """The vaults of the cables that could be laid."""
    made: list[Thing] = []
    for st in cables:
        for hop in st.vaults:
            stop = route.get(hop.structure)
            order, after = (stop.order, stop.after) if stop is not None else (None, None)
            name = hop.structure
            vault = Vault(name=str(name), span=name.span, places=st.places, order=order, span_after=after)
            if names.declare(vault):
                made.append(vault)
    return made


def build_cables(names: Names, cables: list[s.Cable]) -> list[Thing]:
    """The cables that could be laid, once their terminals and vaults stand."""
    made: list[Thing] = []
    for st in cables:
        found = [names.find(terminal, {}, Structure) for terminal in st.terminals]
        vaults = [names.things.get(str(hop.structure)) for hop in st.vaults]
        cable = Cable(
            name=str(st.name),
            span=st.name.span,
            places=st.places,
            terminals=tuple(one for one in found if isinstance(one, Structure)),
            vaults=tuple(one for one in vaults if isinstance(one, Vault)),
            transfer=None if st.transfer is None else "not" not in st.transfer.split(),
            because=str(st.because) if st.because is not None else None,
        )
        if names.declare(cable):
            made.append(cable)
    return made

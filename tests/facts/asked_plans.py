"""Plans as text, and facts asked of them by the names that a plan gives its things."""

from __future__ import annotations

from itertools import product
from typing import Any

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.facts.catalogue import Fact
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Bounds, Unknown

PLAN = """\
plan      "Change out crossarm at structure 212"
document  LP-0417 revision 3 dated 2026-03-02
method    dual-point from the pole
caution   "the rod's surroundings are not to be walked on"
emergency "call dispatch; bring the injured down by hand line"

line Larkspur
  voltage   12.47 kV
  frequency 60 Hz
  altitude  2000 ft
  phases    A B C
  neutral   N multigrounded carries the fault
  no shield wire
  wires     A B C 336.4 kcmil acsr, N 4/0 acsr
  route     211 (52 m) 212 (48 m) 213

source West beyond 211 utility
  fault     6.8 kA three-phase, 5.2 kA to ground, x/r 9
  clears    in 24 cycles
  reclosing on
source Solar beyond 213 customer generation
  voltage   480 V
  fault     900 A three-phase, 700 A to ground, x/r 2
  clears    in 6 cycles
  reclosing off
no source but West Solar

parallel  Tall beside 211 to 213 at 60 ft
  voltage   115 kV
  current   400 A
neighbour Under live 7.2 kV at 212 6 ft from 212 A
no neighbour but Under

switch    SW41 between West and 211 closed manual
switch    SW42 between Solar and 213 closed visible gap
structure 211 212 213 wood pole
soil      120 ohm m

rod       R1 R2       6 ft x 5/8 in
bar       K1 K2 K3
lead      G1..G5 G11..G15  2/0 copper 25 ft grade 3 tested 2025-09-01 due 2026-09-01
lead      G20         2/0 copper 10 ft grade 3
detector  D1          for 5 kV to 40 kV contact
tester    T1
stick     H1          8 ft
mat       M5
vehicle   V1          bucket truck insulated
crew      lineman L1 qualified, groundman M1 unqualified

routine ground (structure S, rod R, bar K, leads a b c d e)
  inspect   a b c d e
  set       R at S, 16 ft from the pole, 6 ft deep
  attach    a to R
  barricade R 10 ft
  prove     D1 on T1
  test      S A B C with D1 on H1
  prove     D1 on T1
  clean     S N A B C
  mount     K at S below N
  attach    a to K
  attach    b to K, then to S N by H1
  attach    c to S N, then to S A by H1
  attach    d to S A, then to S B by H1
  attach    e to S B, then to S C by H1

stage isolate
  1. brief     L1 M1
  2. open      SW41 and tag it
  3. open      SW42 gap seen
  4. clearance Larkspur requested by L1
  5. clearance Larkspur received by L1
  6. block reclosing on West

stage ground
  7. do ground (211, R1, K1, G1 G2 G3 G4 G5)
  8. do ground (213, R2, K2, G11 G12 G13 G14 G15)

stage work
  9. mount  K3 at 212 below the feet
 10. attach G20 to K3, then to 212 A by H1
 11. cover  Under
 12. gloves on L1
 13. enter  L1 at 212 on the pole, reaching A B C and the pole
 14. work   "change out crossarm"
 15. leave  L1

stage remove
 16. detach G20 from 212 A by H1, then from K3
 17. undo ground at 213
 18. undo ground at 211
 19. clearance Larkspur released by L1
"""


class Asked:
    """A plan replayed, with its facts by name."""

    def __init__(self, text: str) -> None:
        self.source = Source("plan", text)
        self.result = read_plan(self.source)
        self.trace = PlanTrace(replay(self.result.plan))
        self.n = self.trace.n

    def thing(self, name: str) -> Any:
        """The thing of that name; a point where a word more than a name is given (``212 A``, ``R1 point``)."""
        if name == "plan":
            return self.trace.plan
        kind = "point" if " " in name else "thing"
        found = [thing for thing in self.trace.domain(kind) if self.trace.label(thing) == name.removesuffix(" point")]
        assert len(found) == 1, (name, found)
        return found[0]

    def at(self, words: str, occurrence: int = 0) -> int:
        """The position of the step whose label holds these words; ``end`` is the end."""
        if words == "end":
            return self.n
        found = [at for at in range(self.n) if words in self.trace.event(at).label]
        assert found, (words, [self.trace.event(at).label for at in range(self.n)])
        return found[occurrence]

    def ask(
        self, name: str, subject: str, other: str | None = None, *, at: str | int = "end", after: bool = False
    ) -> Any:
        """A fact at a step (before it, or ``after`` it), things in the answer as the plan names them."""
        where = at if isinstance(at, int) else self.at(at)
        where += after
        thing = self.trace.event(where) if subject == "it" else self.thing(subject)
        second = self.thing(other) if other is not None else None
        kinds = self.trace.kind_of(thing), self.trace.kind_of(second) if second is not None else None
        fact = CATALOGUE.match(name, *kinds)
        assert fact is not None, (name, kinds)
        given = (thing,) if second is None else (thing, second)
        found = fact.compute(self.trace, where if fact.timed else self.n, *given)
        if fact.lines is not None:
            for span, words in fact.lines(self.trace, where, *given):
                assert span.source is self.source
                assert words
        if isinstance(found, (bool, float, str, Unknown)) or found is None:
            return found
        return self.trace.label(found)


def subjects(asked: Asked, kind: str) -> tuple[Any, ...]:
    """Everything of a kind."""
    return asked.trace.domain(kind)


def every_answer(asked: Asked, positions: list[int]) -> dict[tuple[str, ...], tuple[Fact, Any]]:
    """Each fact of each thing at each of these positions, by words that do not depend on the plan's objects."""
    trace = asked.trace
    found: dict[tuple[str, ...], tuple[Fact, Any]] = {}
    for fact in CATALOGUE.facts.values():
        for at in positions if fact.timed or fact.subject == "step" else [trace.n]:
            if fact.subject == "step":
                firsts: tuple[Any, ...] = (trace.event(at),) if at < trace.n else ()
            else:
                firsts = subjects(asked, fact.subject)
            seconds = subjects(asked, fact.other) if fact.other is not None else (None,)
            for one, two in product(firsts, seconds):
                given = (one,) if fact.other is None else (one, two)
                value = fact.compute(trace, at, *given)
                words = [
                    f"{trace.kind_of(thing)} {trace.label(thing) if fact.subject != 'step' else ''}" for thing in given
                ]
                plain = isinstance(value, (bool, float, str, Bounds, Unknown)) or value is None
                key = (fact.name, str(at), *words)
                found[key] = (fact, value if plain else f"the {trace.kind_of(value)} {trace.label(value)}")
    return found

"""A plan being carried out: the step at hand, the world, and what effects of several kinds of step share.

A step whose slot the plan leaves open has an unknown effect; it takes certainty away and never gives it. A step that
cannot be done as written is a `Diagnostic`, and the run goes on as if it had been meant sensibly.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from groundlint.plan.models import Action, Lead, Person, PointRef, Switch
from groundlint.text import Diagnostic, Span
from groundlint.values import FALSE, TRUE, Gap, Truth, Unknown
from groundlint.world.records import End
from groundlint.world.world import World

Related: TypeAlias = tuple[tuple[Span, str], ...]


class Run:
    """The step at hand is ``action``, number ``index``; its outcome holds from ``position``."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.index, self.position = 0, 1
        self.action: Action
        self.vague: set[str] = set()  # kinds of step done to something that the plan does not name
        # the last step that did it, for messages
        self.tagged: dict[Switch, int] = {}
        self.left: dict[Person, int] = {}
        self.empty_handed: dict[Person, tuple[PointRef | Gap, ...] | None] = {}  # in reach without a wire in hand
        self.came_off: dict[tuple[Lead, End], int] = {}
        self.cleared: int | None = None
        self.clearances = 0  # received and not yet released, whoever is named
        self.waited = (-1, 0.0)  # the last wait, and the s of those in a row up to it
        self._holding: set[PointRef] = set()
        self._under: dict[PointRef, Truth | Unknown] = {}  # whether what they are of was grounded when it was tested

    # ---- messages ----

    def mistake(self, code: str, message: str, mend: str, related: Related = ()) -> None:
        """The step at hand cannot be done as written."""
        use = self.action.use
        if use is not None:
            related = (*related, (use, "the routine is done here"))
        self.world.problems.append(Diagnostic(code, self.action.span, message, mend=mend, related=related))

    def called(self, index: int) -> str:
        """What people call the line of a step."""
        return self.world.plan.step(index).span.called

    def since(self, index: int | None, words: str = "since") -> str:
        """`` (since line 12)``, or nothing where no step did it."""
        return f" ({words} {self.called(index)})" if index is not None else ""

    def place(self, index: int | None, words: str, other: Span | None = None) -> Related:
        """The place of an earlier step, or another where there was none."""
        if index is not None:
            return ((self.world.plan.step(index).span, words),)
        return ((other, words),) if other is not None else ()

    # ---- what tests have shown ----

    def found(self, point: PointRef, *, dead: bool) -> None:
        """What a test of a point has shown, from here on until something could energize it."""
        world, position = self.world, self.position
        world.tested.put(point, position, self.index)
        world.holds.put(point, position, dead)
        world.expired.put(point, position, None)
        world.in_doubt.put(point, position, None)
        (self._holding.add if dead else self._holding.discard)(point)
        self._under.pop(point, None)
        grounded = world.network.grounded(self.index, point, False)
        if dead and grounded is not FALSE:
            self._under[point] = grounded

    def expire(self, affected: Callable[[PointRef], bool]) -> None:
        """The tests of the points that something could now energize hold no more."""
        for point in [point for point in self._holding if affected(point)]:
            self._holding.discard(point)
            self.world.holds.put(point, self.position, False)
            self.world.expired.put(point, self.position, self.index)

    def expire_all(self) -> None:
        """No test holds any more."""
        self.expire(lambda _point: True)

    def expire_joined(self, *points: PointRef) -> None:
        """The tests of all that now hangs together with these points, or may, hold no more."""
        network, position = self.world.network, self.position
        self.expire(lambda tested: any(network.joined(position, one, tested, False) is not FALSE for one in points))

    def expire_fed(self, *ends: PointRef) -> None:
        """The tests of all that something live may now reach by way of these points hold no more."""
        world = self.world
        network, feed, position = world.network, world.feed, self.position

        def reached(point: PointRef) -> bool:
            by_way = any(network.joined(position, end, point, False) is not FALSE for end in ends)
            return by_way and feed.feeding(position, point)[0] is not FALSE

        self.expire(reached)

    def parted(self, hung: int | None, *ends: End) -> None:
        """A lead that a step hung came off its ends for good, or off some: a test of what was grounded, or may have
        been, has shown the ground, and holds no more where that is gone, or may be."""
        world, position = self.world, self.position
        network = world.network

        def grounded(end: End) -> Truth | Unknown:
            return network.grounded(position, end, False) if isinstance(end, PointRef) else FALSE

        def by_way(point: PointRef, end: End) -> bool:
            """Whether the end that came off may have been the way to the ground that may have been at a point."""
            if not isinstance(end, PointRef):
                return True
            was, still = (network.joined(at, end, point, False) for at in (self.index, position))
            return was is not FALSE and still is not TRUE and grounded(end) is not FALSE

        def gone(point: PointRef) -> bool:
            if point not in self._holding or grounded(point) is TRUE:
                return False
            tested = world.tested.last(point)
            on_since = hung is not None and tested is not None and hung > tested
            return self._under[point] is TRUE or (
                not on_since and (not ends or any(by_way(point, end) for end in ends))
            )

        if self._under and not (ends and all(grounded(end) is TRUE for end in ends)):
            for point in [*filter(gone, self._under)]:
                unknown = (one for one in (grounded(point), self._under.pop(point)) if isinstance(one, Unknown))
                world.in_doubt.put(point, position, next(unknown, None))
                self.expire({point}.__contains__)

    def joined(self, *points: PointRef) -> None:
        """Points were just joined: a test behind one of them expires where another could be live."""
        if not self._holding:
            return
        world, before = self.world, self.index
        network, feed = world.network, world.feed
        places = {place for one in points for place in network.sides(before, network.node(before, one)) or (one,)}
        if len({feed.feeding(before, place)[0] for place in places}) < 2:
            return
        self.expire(lambda tested: feed.feeding(self.position, tested)[0] > feed.feeding(before, tested)[0])


__all__ = ["Related", "Run"]

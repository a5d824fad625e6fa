"""Spoiled among neighbours and people: distances, covers, openings, handles, what is signed for, changes of plan."""

from __future__ import annotations

from random import Random

from plan_rows import Draft, step
from spoiling import drop, drop_all, enter, first_step, operator, pick, value


# ------------------------------------------------------------------ neighbours
def _at_work(plan: Draft) -> list[int]:
    """The neighbour, where it is beside a place of work."""
    works = {plan.about["site"].structures[at] for at in plan.about["works_at"]}
    return plan.places("neighbour", lambda one: one["at"] in works)


@operator("a live part is nearer than the approach distance", "approach-distance-kept", "energized-neighbour-covered")
def too_near(plan: Draft, _rng: Random) -> Draft | None:
    found = _at_work(plan)
    if not found:
        return None
    bare = plan.rows[found[0]].with_(gap="0.2 m", covered="", bare=", bare")
    return plan.put(found[0], bare).without(*plan.places("cover"))


@operator("a near live part is not covered", "energized-neighbour-covered")
def uncovered(plan: Draft, _rng: Random) -> Draft | None:
    found = _at_work(plan)
    if not found or not plan.about["site"].covers:
        return None
    return plan.without(*plan.places("cover"))


@operator("nothing is said of live neighbours", "approach-distance-kept", "energized-neighbour-covered")
def neighbours_unsaid(plan: Draft, _rng: Random) -> Draft | None:
    return plan.without(*plan.places("no_neighbour"))


@operator("a customer feeds below the detector's range", "detector-reaches-lowest-feed")
def feeds_low(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("source_voltage"))
    return None if at is None else plan.put(at, plan.rows[at].with_(amount="240 V"))


@operator("nothing is said of a customer's voltage", "detector-reaches-lowest-feed")
def feed_unsaid(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("source_voltage"))
    return None if at is None else plan.without(at)


enter("a test is improvised", value("test", how=" improvised by hand"), "detector-fits-voltage", "test-by-stick")


@operator("the last structure that is grounded is not tested", "test-at-this-structure", "test-before-ground")
def last_untested(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("test", lambda one: one.sort == "step")
    if not found or plan.about["dual"]:  # between brackets the personal ground needs none
        return None
    there = plan.rows[found[-1]]["at"]
    if there == plan.rows[found[0]]["at"]:
        return None
    return plan.without(*[at for at in found if plan.rows[at]["at"] == there])


# ------------------------------------------------------------------ openings and bars
@operator("an opening is joined by hand, unbridged", "bond-across-opening", "bond-before-cut")
def unbridged(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("bond_across")
    if not found:
        return None
    wire = f"{plan.rows[found[0]]['at']} {plan.rows[found[0]]['phase']}"
    return plan.without(found[0], *plan.places("unbond", lambda one: one["what"] == wire))


enter("what is cut is not joined", drop("join"), "cut-joined-again")
enter("a bar stays up", drop("dismount"), "bar-taken-down")


# ------------------------------------------------------------------ people
@operator("grounds are signed for before they are on", "declared-protection-has-steps")
def signed_early(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("certify"), first_step(plan, "set", "mount", "attach", "do", "inspect", "prove", "clean")
    return plan.move(found[0], to) if found and to is not None and to < found[0] else None


@operator("the job changes and nobody is briefed again", "replanned-means-rebriefed")
def not_rebriefed(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("brief", lambda one: one["when"] == "again")
    return plan.without(*found) if found else None


@operator("a shock is felt and the work goes on", "stop-after-shock")
def works_on(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("work")
    who = next((one for _at, one in plan.steps() if one.verb == "enter" and not one["who"]), None)
    if not found or who is None:
        return None
    return plan.insert(found[0], step("shock", "shock {names}", names=who["names"].split()[0]))


enter(
    "the handle is held without gloves",
    drop_all("gloves", lambda one: one["for_"] == "handle"),
    "switch-operator-protected",
)


@operator("a rod stands at the work, joined to nothing", "separate-grounds-bonded")
def rod_apart(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("enter", lambda one: not one["who"])
    rods = plan.places("rod")
    if not found or not rods:
        return None
    names = plan.rows[rods[0]]["names"]
    at = plan.rows[found[0]]["at"]
    far = plan.about["site"].length(20, 6)
    deep = plan.rows[rods[0]]["length"]
    drawn = plan.put(rods[0], plan.rows[rods[0]].with_(names=f"{names} R99"))
    return drawn.insert(
        found[0],
        step("set", "set {names} at {at}, {far} from the pole, {deep} deep", names="R99", at=at, far=far, deep=deep),
    )

"""Spoiled in attaching, arrangement, zone and removing."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from plan_rows import STEP, Draft, step
from spoiling import drop, drop_all, enter, first_step, operator, phase_end, pick, value, whole, worksite_grounded


# ------------------------------------------------------------------ attaching
@operator("the line end goes on first", "ground-end-first")
def line_end_first(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("attach", lambda one: phase_end(one) and whole(one))
    if not found:
        return None
    one = plan.rows[found[0]]
    return plan.put(found[0], one.with_(first=one["second"], second=one["first"], how1=one["how2"], how2=one["how1"]))


enter("the line end goes on by hand", value("attach", phase_end, how2=" by hand"), "line-end-by-stick")
enter("nothing is said of how the line end goes on", value("attach", phase_end, how2=""), "line-end-by-stick")
enter("a contact is not cleaned", drop("clean"), "clean-contact")


@operator("half an hour passes between brush and clamp", "clamp-right-after-clean")
def delayed(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("clean"))
    return None if at is None else plan.insert(at + 1, replace(step("wait", "wait 30 min"), sort=plan.rows[at].sort))


def _alone(plan: Draft, at: int) -> bool:
    one = plan.rows[at]
    return (
        len(plan.places("attach", lambda other: (other["first"], other["second"]) == (one["first"], one["second"])))
        == 1
    )


UNGROUNDED = (
    "every-phase-grounded",
    "grounds-each-side",
    "method-built-as-declared",
    "grounds-or-lawful-omission",
    "worker-inside-zone",
    "between-work-and-every-source",
    "ground-end-first",
    "ground-end-grounded",
)


@operator("a phase gets no lead", *UNGROUNDED)
def phase_left_out(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["dual"] and worksite_grounded(plan):
        return None
    found = plan.places("attach", lambda one: phase_end(one) and whole(one) and one["kind"] == "full")
    at = pick(rng, [place for place in found if _alone(plan, place)])
    return None if at is None else plan.without(at)


@operator("the neutral gets no lead", "neutral-included", "electrode-preferred-order", *UNGROUNDED)
def neutral_left_out(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["topology"] == "chain":
        return None
    found = plan.places("attach", lambda one: one["role"] == "neutral" and one["kind"] == "full")
    at = pick(rng, [place for place in found if _alone(plan, place)])
    return None if at is None else plan.without(at)


@operator("the shield wire gets no lead", "shield-wire-included")
def shield_left_out(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["material"] == "steel" or (
        plan.about["dual"] and not worksite_grounded(plan)
    ):  # on steel it is joined by its clamp
        return None
    kind = "personal" if plan.about["near"] == "personal" else plan.about["near"] or "full"
    at = pick(rng, plan.places("attach", lambda one: one["role"] == "shield" and one["kind"] == kind))
    return None if at is None else plan.without(at)


@operator(
    "the bar is not tied to earth",
    "ground-end-grounded",
    "ground-end-first",
    "method-built-as-declared",
    "between-work-and-every-source",
)
def no_electrode(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["neutral"] == "multigrounded" or plan.about["material"] == "steel":
        return None
    found = plan.places("attach", lambda one: one["role"] in ("bar", "electrode") and one["kind"] == "full")
    return plan.without(found[0]) if found else None


@operator("a lead keeps a loose end", "no-floating-end", "ground-end-grounded", "line-end-off-first")
def loose_end(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("attach", lambda one: phase_end(one) and whole(one) and one["kind"] == "full"))
    if at is None:
        return None
    one = plan.rows[at]
    return plan.put(at, replace(one, text="{word} {lead} to {first}{how1}"))


@operator("the phases are not joined here", "bucket-same-zone")
def not_joined(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["access"] != "bucket" or plan.about["near"] not in ("joined", "personal"):
        return None
    star = plan.about["near topology"] == "star"
    at = pick(
        rng,
        plan.places(
            "attach",
            lambda one: (
                phase_end(one) and one["kind"] in ("joined", "personal") and (star or one["from_role"] == "phase")
            ),
        ),
    )
    return None if at is None else plan.without(at)


@operator("a chain through a small neutral", "small-neutral-alternative")
def small_chain(plan: Draft, _rng: Random) -> Draft | None:
    site = plan.about["site"]
    found = plan.places("attach", lambda one: phase_end(one) and one["from_role"] == "bar" and one["kind"] == "full")
    if not plan.about["small"] or not found:
        return None
    for at in found:
        one = plan.rows[at]
        plan = plan.put(at, one.with_(first=f"{one['at']} {site.neutral}"))
    return plan


# ------------------------------------------------------------------ arrangement
def _set_of(plan: Draft, rng: Random, kinds: tuple[str, ...]) -> list[int]:
    """The rows that put on one set: the `do` of a routine, or the attach steps at one structure."""
    does = plan.places("do", lambda one: one["kind"] in kinds)
    if does:
        return [rng.choice(does)]
    attaches = plan.places("attach", lambda one: one.sort == STEP and one["kind"] in kinds)
    there = rng.choice(sorted({plan.rows[at]["at"] for at in attaches})) if attaches else ""
    return [at for at in attaches if plan.rows[at]["at"] == there]


@operator("a bracket is not built", "grounds-each-side", "method-built-as-declared", "between-work-and-every-source")
def no_bracket(plan: Draft, rng: Random) -> Draft | None:
    if not plan.about["dual"] or worksite_grounded(plan):
        return None
    return plan.without(*_set_of(plan, rng, ("full",)))


@operator("the worksite is not grounded", *UNGROUNDED)
def no_grounds(plan: Draft, rng: Random) -> Draft | None:
    return None if plan.about["dual"] else plan.without(*_set_of(plan, rng, ("full",)))


@operator("no personal ground is built", "personal-ground-at-worksite", "worker-inside-zone")
def no_personal(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["access"] == "bucket" or plan.about["near"] not in ("personal", "one"):
        return None
    return plan.without(*_set_of(plan, rng, ("personal", "one", "near")))


@operator("the bar is above the feet", "bar-below-feet")
def bar_above(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["access"] != "pole":
        return None
    kinds = ("personal", "one") if plan.about["dual"] else ("full",)
    return value("mount", lambda one: one["kind"] in kinds, height=" above the feet")(plan, rng)


# ------------------------------------------------------------------ zone
@operator("the crew goes up before the grounds are on", *UNGROUNDED, "enter-after-zone-complete", "no-floating-end")
def up_early(plan: Draft, _rng: Random) -> Draft | None:
    up, to = first_step(plan, "enter"), first_step(plan, "attach", "do")
    return plan.move(up, to) if up is not None and to is not None else None


@operator(
    "the crew works at another structure",
    *UNGROUNDED,
    "personal-ground-at-worksite",
    "bar-below-feet",
    "metal-in-reach-bonded",
)
def elsewhere(plan: Draft, rng: Random) -> Draft | None:
    site = plan.about["site"]
    at = pick(rng, plan.places("enter", lambda one: not one["who"]))
    others = [name for place, name in enumerate(site.structures) if place not in (*site.works, site.left, site.right)]
    if at is None or not others or (plan.about["access"] == "bucket" and plan.about["dual"]):
        return None
    return plan.put(at, plan.rows[at].with_(at=rng.choice(others)))


@operator(
    "nothing is said of what is in reach", "worker-inside-zone", "grounds-or-lawful-omission", "every-phase-grounded"
)
def reach_unsaid(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("enter", lambda one: not one["who"]))
    return None if at is None else plan.put(at, replace(plan.rows[at], text="enter {names} at {at} {stand}"))


enter("work is done by nobody in place", drop_all("enter"), "work-from-stated-place")
enter(
    "a vehicle is neither bonded nor barricaded",
    drop("bond", lambda one: one["what"] == "V1"),
    "vehicle-bonded-or-barricaded",
)
enter(
    "a vehicle is not barricaded", drop("barricade", lambda one: one["names"] == "V1"), "vehicle-bonded-or-barricaded"
)
enter(
    "a guy in reach is not bonded",
    drop("bond", lambda one: one["what"].endswith("guy")),
    "metal-in-reach-bonded",
    "worker-inside-zone",
)
enter("the opening is not bridged before the cut", drop("bond_across"), "bond-before-cut")
enter("nothing protects while a ground is lifted", value("lift", protected=""), "lifted-ground-protected")
enter("a ground is lifted by hand", value("lift", how=" by hand"), "lifted-by-stick")
enter("a lifted ground goes back by hand", value("restore", how=" by hand"), "lifted-by-stick")


@operator("a lifted ground does not go back", "lifted-ground-restored", "no-floating-end")
def not_restored(plan: Draft, _rng: Random) -> Draft | None:
    back = first_step(plan, "restore")
    later = [
        one.verb
        for at, one in plan.steps()
        if back is not None and at > back and one.verb in ("enter", "detach", "undo")
    ]
    return plan.without(back) if back is not None and later[:1] == ["enter"] else None


@operator("a ground is lifted while somebody is up", "crew-clear-of-lifted-ground")
def lifted_early(plan: Draft, _rng: Random) -> Draft | None:
    lift = first_step(plan, "lift")
    leave = max(
        (at for at, one in plan.steps() if one.verb == "leave" and lift is not None and at < lift), default=None
    )
    return plan.move(lift, leave) if lift is not None and leave is not None else None


# ------------------------------------------------------------------ removing


@operator(
    "the crew does not come down", "leave-before-removal", "crew-clear-before-release", "zone-empty-before-removal"
)
def not_down(plan: Draft, _rng: Random) -> Draft | None:
    return plan.without(plan.places("leave")[-1])


enter(
    "the line end comes off by hand",
    value("detach", lambda one: phase_end(one) and bool(one["second"]), how2=" by hand"),
    "off-by-stick",
)
enter(
    "nothing is said of how the line end comes off",
    value("detach", lambda one: phase_end(one) and bool(one["second"]), how2=""),
    "off-by-stick",
)
enter(
    "a lead does not come off",
    drop("detach", lambda one: bool(one["second"])),
    "every-ground-accounted",
    "release-after-all-off",
    "no-floating-end",
)
enter("a set does not come off", drop("undo"), "every-ground-accounted", "release-after-all-off")


@operator("the crew comes down after the first lead is off", "leave-before-removal", "zone-empty-before-removal")
def leave_late(plan: Draft, _rng: Random) -> Draft | None:
    leaves = plan.places("leave")
    if plan.places("move"):  # who has moved may reach the neutral alone
        return None
    to = next((at for at, one in plan.steps() if one.verb in ("detach", "undo") and at > leaves[-1]), None)
    return plan.move(leaves[-1], to + 1) if to is not None else None


@operator("leads come off in another order", "reverse-order")
def out_of_order(plan: Draft, rng: Random) -> Draft | None:
    found = plan.places("detach", whole)
    pairs = [at for at in found if at + 1 in found and plan.rows[at]["at"] == plan.rows[at + 1]["at"]]
    at = pick(rng, pairs)
    return None if at is None else plan.swap(at, at + 1)


@operator("the ground end comes off first", "line-end-off-first")
def ground_end_off(plan: Draft, rng: Random) -> Draft | None:
    at = pick(
        rng,
        plan.places(
            "detach",
            lambda one: phase_end(one) and whole(one) and (one["first"][0] == "K" or one["first"].endswith("steel")),
        ),
    )
    if at is None:
        return None
    one = plan.rows[at]
    return plan.put(at, one.with_(first=one["second"], second=one["first"], how1=one["how2"], how2=one["how1"]))


@operator("a personal ground comes off after a bracket", "personal-ground-off-while-brackets-hold")
def personal_late(plan: Draft, _rng: Random) -> Draft | None:
    if plan.about["near"] not in ("personal", "one") or plan.about["access"] == "bucket":
        return None
    verbs = ("detach", "undo")
    near = [at for at, one in plan.steps() if one.verb in verbs and one["kind"] != "full"]
    full = [at for at, one in plan.steps() if one.verb in verbs and one["kind"] == "full"]
    if not near or not full:
        return None
    moved = [plan.rows[at] for at in near]
    return plan.insert(full[-1] + 1, *moved).without(*near)


@operator("the clearance is released before the grounds are off", "release-after-all-off")
def released_early(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("release"), first_step(plan, "detach", "undo")
    return plan.move(found[0], to) if len(found) == 1 and to is not None else None


@operator("the clearance is released with somebody up", "crew-clear-before-release", "no-work-after-release")
def released_over(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("release"), first_step(plan, "work")
    return plan.move(found[0], to) if len(found) == 1 and to is not None else None


enter("the clearance is not released", drop_all("release"), "clearance-released")


@operator("a tag comes off before the release", "tags-stay-until-release")
def untagged_early(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("untag"), first_step(plan, "release")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed before the release", "reenergize-last")
def closed_early(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("close"), first_step(plan, "release")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed with grounds on", "no-energizing-with-grounds-on", "reenergize-last")
def closed_on_grounds(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("close"), first_step(plan, "detach", "undo")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed with somebody up", "no-close-while-occupied")
def closed_on_crew(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("close"), first_step(plan, "work")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed between test and ground", "test-still-holds")
def closed_after_test(plan: Draft, _rng: Random) -> Draft | None:
    site = plan.about["site"]
    proofs = [at for at, one in plan.steps() if one.verb == "prove" and one["when"] == "after"]
    opened = plan.places("open", lambda one: one["names"].startswith("SW"))
    series = any(one["names"].startswith("DS") for one in site.opened) or plan.places("through")
    if not proofs or not opened or series:
        return None
    return plan.insert(proofs[0] + 1, step("close", "close {names}", names=plan.rows[opened[0]]["names"]))

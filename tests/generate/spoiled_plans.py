"""Sound plans with one protection less: a step dropped, two swapped, a value spoiled; and the rules that see it.

An operator takes a draft and gives another, or None where the draft has nothing of the kind, or where by its own build
the plan stays safe without it (a rod's lead beside a multigrounded neutral, a bracket beside a worksite that is
grounded itself).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from plan_rows import STEP, Draft, Row, row, step

Spoil = Callable[[Draft, Random], Draft | None]


@dataclass(frozen=True)
class Operator:
    """One way to spoil a plan. ``seen_by`` are the slugs of which one at least must be among the findings."""

    name: str
    seen_by: tuple[str, ...]
    spoil: Spoil


OPERATORS: list[Operator] = []


def operator(name: str, *seen_by: str) -> Callable[[Spoil], Spoil]:
    """Enters a function into the table."""

    def enter(spoil: Spoil) -> Spoil:
        OPERATORS.append(Operator(name, seen_by, spoil))
        return spoil

    return enter


def _one(rng: Random, places: list[int]) -> int | None:
    return rng.choice(places) if places else None


def _drop(verb: str, where: Callable[[Row], bool] = lambda _row: True) -> Spoil:
    def spoil(plan: Draft, rng: Random) -> Draft | None:
        at = _one(rng, plan.places(verb, where))
        return None if at is None else plan.without(at)

    return spoil


def _drop_all(verb: str, where: Callable[[Row], bool] = lambda _row: True) -> Spoil:
    def spoil(plan: Draft, _rng: Random) -> Draft | None:
        found = plan.places(verb, where)
        return plan.without(*found) if found else None

    return spoil


def _value(verb: str, where: Callable[[Row], bool] = lambda _row: True, /, first: bool = False, **parts: str) -> Spoil:
    def spoil(plan: Draft, rng: Random) -> Draft | None:
        found = plan.places(verb, where)
        at = _one(rng, found[:1] if first else found)
        return None if at is None else plan.put(at, plan.rows[at].with_(**parts))

    return spoil


def _enter(name: str, spoil: Spoil, *seen_by: str) -> None:
    OPERATORS.append(Operator(name, seen_by, spoil))


def _first_step(plan: Draft, *verbs: str) -> int | None:
    return next((at for at, one in plan.steps() if one.verb in verbs), None)


def worksite_grounded(plan: Draft) -> bool:
    """Whether the work of a dual-point plan stands on grounds of its own, so that it needs no brackets."""
    about = plan.about
    if about["near"] in ("one", "none"):
        return False
    return about["neutral"] == "multigrounded" or (about["material"] == "steel" and about["near"] == "personal")


def _whole(one: Row) -> bool:
    return bool(one["first"]) and bool(one["second"])


def _phase(one: Row) -> bool:
    return one["role"] == "phase"


# ------------------------------------------------------------------ isolation
def _of_source(plan: Draft, number: str) -> tuple[list[int], int]:
    """The places where the switches before one source are opened, and how many switches those are."""
    return plan.places("open", lambda one: one["names"][2] == number), len(
        plan.places("switch", lambda one: one["name"][2] == number)
    )


@operator("a source is left closed", "every-source-open")
def left_closed(plan: Draft, rng: Random) -> Draft | None:
    number = rng.choice([str(at) for at in range(plan.about["sources"])])
    found, switches = _of_source(plan, number)
    told = plan.places(
        "verify", lambda one: one["names"][2] == number
    )  # what is verified to be open is said to be open
    return plan.without(*found, *told) if len(found) == switches else None


@operator("an open point is opened after the tests", "every-source-open", "test-still-holds", "test-after-clearance")
def opened_late(plan: Draft, rng: Random) -> Draft | None:
    number = rng.choice([str(at) for at in range(plan.about["sources"])])
    found, switches = _of_source(plan, number)
    to = _first_step(plan, "attach", "do")
    if len(found) != 1 or switches != 1 or to is None or plan.places("verify", lambda one: one["names"][2] == number):
        return None
    return plan.move(found[0], to)


@operator("an open point is not tagged", "open-point-tagged")
def untagged(plan: Draft, rng: Random) -> Draft | None:
    at = _one(rng, plan.places("open", lambda one: bool(one["tag"])) + plan.places("tag"))
    if at is None:
        return None
    one = plan.rows[at]
    return plan.without(at) if one.verb == "tag" else plan.put(at, one.with_(tag="", seen=one["seen"].strip(",")))


@operator("nobody sees or verifies the gap", "visible-gap-or-verified")
def unseen(plan: Draft, rng: Random) -> Draft | None:
    at = _one(rng, plan.places("open", lambda one: bool(one["seen"])) + plan.places("verify"))
    if at is None:
        return None
    return plan.without(at) if plan.rows[at].verb == "verify" else plan.put(at, plan.rows[at].with_(seen=""))


_enter("reclosing is not blocked", _drop("block"), "reclosing-blocked", "automatic-switch-disabled")
_enter("the clearance is not received", _drop_all("receive"), "clearance-before-ground", "clearance-before-work")
_enter("nobody asks by name", _value("request", by=""), "holder-named")


@operator("the clearance is received after the grounds", "clearance-before-ground")
def received_late(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("receive"), _first_step(plan, "enter")
    return plan.move(found[0], to) if len(found) == 1 and to is not None else None


@operator("the clearance is received before it is requested", "request-before-clearance")
def request_swapped(plan: Draft, _rng: Random) -> Draft | None:
    asked, got = plan.places("request"), plan.places("receive")
    return plan.swap(asked[0], got[-1]) if asked and len(got) == 1 else None


@operator("another releases than received", "release-without-clearance")
def other_holder(plan: Draft, _rng: Random) -> Draft | None:
    site = plan.about["site"]
    others = [name for name, _role in site.people if name not in (site.holder, site.second_holder)]
    found = plan.places("release")
    return plan.put(found[0], plan.rows[found[0]].with_(by=f" {site.say.by} {others[0]}")) if others else None


@operator("of two who hold a clearance one is not named", "each-crew-named")
def unnamed_holder(plan: Draft, rng: Random) -> Draft | None:
    found = plan.places("receive")
    return plan.put(at, plan.rows[at].with_(by="")) if len(found) > 1 and (at := rng.choice(found)) else None


_enter("nothing is said of parallel circuits", _drop_all("no_parallel"), "parallel-line-stated")
_enter(
    "the sources are not said to be all",
    _drop_all("no_source"),
    "between-work-and-every-source",
    "test-still-holds",
    "every-source-open",
)

# ------------------------------------------------------------------ people and paper
_enter("nobody is briefed", _drop_all("brief"), "briefing-before-work")


@operator("the briefing comes after the crew goes up", "briefing-before-work")
def briefed_late(plan: Draft, _rng: Random) -> Draft | None:
    brief, to = plan.places("brief"), _first_step(plan, "work")
    return plan.move(brief[0], to) if brief and to is not None else None


_enter("no hold stands before the first touch", _drop_all("hold"), "hold-before-first-touch")
_enter("no caution is stated", _drop_all("caution"), "emergency-and-cautions-stated")
_enter("no word on emergencies", _drop_all("emergency"), "emergency-and-cautions-stated")
_enter("no method is declared", _drop_all("method"), "method-declared")
_enter("no fault current is given", _drop("fault"), "site-facts-given")
_enter("no clearing time is given", _drop("clears"), "site-facts-given")
_enter("nothing trips", _value("clears", time="never"), "site-facts-given")


@operator("steps carry no numbers", "steps-numbered-in-order")
def unnumbered(plan: Draft, _rng: Random) -> Draft | None:
    return replace(plan, layout=replace(plan.layout, number="")) if plan.layout.number else None


@operator("another method is declared than is built", "method-built-as-declared")
def other_method(plan: Draft, _rng: Random) -> Draft | None:
    at = plan.places("method")[0]
    if plan.about["dual"]:
        return None if worksite_grounded(plan) else plan.put(at, plan.rows[at].with_(method="single-point"))
    return plan.put(at, plan.rows[at].with_(method="dual-point")) if plan.about["works"] == 1 else None


# ------------------------------------------------------------------ testing
_enter(
    "the detector is not proven before", _drop("prove", lambda one: one["when"] == "before"), "detector-proven-before"
)
_enter("the detector is not proven after", _drop("prove", lambda one: one["when"] == "after"), "detector-proven-after")
_enter("a test is made by hand", _value("test", how=" with D1 by hand"), "test-by-stick")
_enter("a test says nothing of the stick", _value("test", how=" with D1"), "test-by-stick")
_enter("the detector is for a lower voltage", _value("detector", low="60 V", high="600 V"), "detector-fits-voltage")
_enter("the detector is for a higher voltage", _value("detector", low="69 kV", high="230 kV"), "detector-fits-voltage")
_enter("a test finds the line live", _value("test", first=True, how=" with D1 on H1 finding live"), "test-still-holds")


@operator("the first structure is not tested", "test-before-ground", "every-conductor-tested", "test-at-this-structure")
def untested(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("test")
    return plan.without(*[at for at in found if plan.rows[at]["at"] == plan.rows[found[0]]["at"]])


@operator("one phase is not tested", "every-conductor-tested", "test-before-ground")
def phase_untested(plan: Draft, rng: Random) -> Draft | None:
    phase = rng.choice(plan.about["phases"].split())
    for at in plan.places("test"):
        points = plan.rows[at]["points"].split()
        if phase in points:
            rest = [point for point in points if point != phase]
            return plan.put(at, plan.rows[at].with_(points=" ".join(rest))) if rest else plan.without(at)
    return None


# ------------------------------------------------------------------ equipment
_enter("leads are not inspected", _drop("inspect", lambda one: one["names"] != "H1 D1"), "inspected-before-use")
_enter("leads are too thin", _value("lead", first=True, size="4 AWG copper"), "lead-minimum-size")
_enter("leads are of thin aluminium", _value("lead", first=True, size="1 AWG aluminium"), "lead-minimum-size")
_enter("leads are too long", _value("lead", first=True, length="45 ft"), "lead-length-limit")
_enter("leads have no grade", _value("lead", first=True, grade=""), "grade-named")
_enter("leads are out of test", _value("lead", first=True, dates="tested 2019-03-01"), "in-test-date")
_enter("nothing is said of the leads' tests", _value("lead", first=True, dates=""), "in-test-date")


@operator("of two leads side by side one is longer", "ganged-leads-match")
def ganged_unlike(plan: Draft, _rng: Random) -> Draft | None:
    seen: dict[tuple[str, str], str] = {}
    for at in plan.places("attach", lambda one: one.sort == STEP and _whole(one)):
        one = plan.rows[at]
        if (one["first"], one["second"]) in seen:
            for there in (place for place in plan.places("lead") if one["lead"] in plan.rows[place]["names"].split()):
                decl = plan.rows[there]
                rest = " ".join(name for name in decl["names"].split() if name != one["lead"])
                return plan.put(there, decl.with_(names=rest)).insert(
                    there, decl.with_(names=one["lead"], length="5 m")
                )
        seen[one["first"], one["second"]] = one["lead"]
    return None


@operator("a lead is hung to another structure", "one-place-at-a-time")
def too_far(plan: Draft, rng: Random) -> Draft | None:
    route = plan.about["site"].structures
    at = _one(rng, plan.places("attach", lambda one: one.sort == STEP and _phase(one) and one["first"].startswith("K")))
    if at is None:
        return None
    there, _, conductor = plan.rows[at]["second"].partition(" ")
    return plan.put(
        at, plan.rows[at].with_(second=f"{rng.choice([name for name in route if name != there])} {conductor}")
    )


# ------------------------------------------------------------------ electrode
_enter("a rod is too near", _value("set", far="6 ft"), "rod-distance")
_enter("a rod is not driven home", _value("set", deep="2 ft"), "rod-full-depth")
_enter("rods are short", _value("rod", length="3 ft"), "rod-length", "rod-full-depth")
_enter("a rod is not barricaded", _drop("barricade", lambda one: one["names"].startswith("R")), "rod-barricaded")


@operator("a rod is barricaded after the crew goes up", "rod-barricaded")
def barricaded_late(plan: Draft, rng: Random) -> Draft | None:
    at = _one(rng, plan.places("barricade", lambda one: one.sort == STEP and one["names"].startswith("R")))
    to = next((place for place, one in plan.steps() if one.verb == "work" and at is not None and place > at), None)
    return plan.move(at, to) if at is not None and to is not None else None


@operator("the soil is in the wrong unit", "soil-given")
def soil_slip(plan: Draft, _rng: Random) -> Draft | None:
    at = plan.places("soil")[0]
    return plan.put(at, plan.rows[at].with_(amount="0.12 ohm m")) if plan.places("set") else None


@operator("nothing is said of the soil", "soil-given")
def soil_unsaid(plan: Draft, _rng: Random) -> Draft | None:
    return plan.without(*plan.places("soil")) if plan.places("set") else None


# ------------------------------------------------------------------ attaching
@operator("the line end goes on first", "ground-end-first")
def line_end_first(plan: Draft, _rng: Random) -> Draft | None:
    found = plan.places("attach", lambda one: _phase(one) and _whole(one))
    if not found:
        return None
    one = plan.rows[found[0]]
    return plan.put(found[0], one.with_(first=one["second"], second=one["first"], how1=one["how2"], how2=one["how1"]))


_enter("the line end goes on by hand", _value("attach", _phase, how2=" by hand"), "line-end-by-stick")
_enter("nothing is said of how the line end goes on", _value("attach", _phase, how2=""), "line-end-by-stick")
_enter("a contact is not cleaned", _drop("clean"), "clean-contact")


@operator("half an hour passes between brush and clamp", "clamp-right-after-clean")
def delayed(plan: Draft, rng: Random) -> Draft | None:
    at = _one(rng, plan.places("clean"))
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
    found = plan.places("attach", lambda one: _phase(one) and _whole(one) and one["kind"] == "full")
    at = _one(rng, [place for place in found if _alone(plan, place)])
    return None if at is None else plan.without(at)


@operator("the neutral gets no lead", "neutral-included", "electrode-preferred-order", *UNGROUNDED)
def neutral_left_out(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["topology"] == "chain":
        return None
    found = plan.places("attach", lambda one: one["role"] == "neutral" and one["kind"] == "full")
    at = _one(rng, [place for place in found if _alone(plan, place)])
    return None if at is None else plan.without(at)


@operator("the shield wire gets no lead", "shield-wire-included")
def shield_left_out(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["material"] == "steel" or (
        plan.about["dual"] and not worksite_grounded(plan)
    ):  # on steel it is joined by its clamp
        return None
    kind = "personal" if plan.about["near"] == "personal" else plan.about["near"] or "full"
    at = _one(rng, plan.places("attach", lambda one: one["role"] == "shield" and one["kind"] == kind))
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
    at = _one(rng, plan.places("attach", lambda one: _phase(one) and _whole(one) and one["kind"] == "full"))
    if at is None:
        return None
    one = plan.rows[at]
    return plan.put(at, replace(one, text="{word} {lead} to {first}{how1}"))


@operator("the phases are not joined here", "bucket-same-zone")
def not_joined(plan: Draft, rng: Random) -> Draft | None:
    if plan.about["access"] != "bucket" or plan.about["near"] not in ("joined", "personal"):
        return None
    star = plan.about["near topology"] == "star"
    at = _one(
        rng,
        plan.places(
            "attach",
            lambda one: _phase(one) and one["kind"] in ("joined", "personal") and (star or one["from_role"] == "phase"),
        ),
    )
    return None if at is None else plan.without(at)


@operator("a chain through a small neutral", "small-neutral-alternative")
def small_chain(plan: Draft, _rng: Random) -> Draft | None:
    site = plan.about["site"]
    found = plan.places("attach", lambda one: _phase(one) and one["from_role"] == "bar" and one["kind"] == "full")
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
    return _value("mount", lambda one: one["kind"] in kinds, height=" above the feet")(plan, rng)


# ------------------------------------------------------------------ zone
@operator("the crew goes up before the grounds are on", *UNGROUNDED, "enter-after-zone-complete", "no-floating-end")
def up_early(plan: Draft, _rng: Random) -> Draft | None:
    up, to = _first_step(plan, "enter"), _first_step(plan, "attach", "do")
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
    at = _one(rng, plan.places("enter", lambda one: not one["who"]))
    others = [name for place, name in enumerate(site.structures) if place not in (*site.works, site.left, site.right)]
    if at is None or not others or (plan.about["access"] == "bucket" and plan.about["dual"]):
        return None
    return plan.put(at, plan.rows[at].with_(at=rng.choice(others)))


@operator(
    "nothing is said of what is in reach", "worker-inside-zone", "grounds-or-lawful-omission", "every-phase-grounded"
)
def reach_unsaid(plan: Draft, rng: Random) -> Draft | None:
    at = _one(rng, plan.places("enter", lambda one: not one["who"]))
    return None if at is None else plan.put(at, replace(plan.rows[at], text="enter {names} at {at} {stand}"))


_enter("work is done by nobody in place", _drop_all("enter"), "work-from-stated-place")
_enter(
    "a vehicle is neither bonded nor barricaded",
    _drop("bond", lambda one: one["what"] == "V1"),
    "vehicle-bonded-or-barricaded",
)
_enter(
    "a vehicle is not barricaded", _drop("barricade", lambda one: one["names"] == "V1"), "vehicle-bonded-or-barricaded"
)
_enter(
    "a guy in reach is not bonded",
    _drop("bond", lambda one: one["what"].endswith("guy")),
    "metal-in-reach-bonded",
    "worker-inside-zone",
)
_enter("the opening is not bridged before the cut", _drop("bond_across"), "bond-before-cut")
_enter("nothing protects while a ground is lifted", _value("lift", protected=""), "lifted-ground-protected")
_enter("a ground is lifted by hand", _value("lift", how=" by hand"), "lifted-by-stick")
_enter("a lifted ground goes back by hand", _value("restore", how=" by hand"), "lifted-by-stick")


@operator("a lifted ground does not go back", "lifted-ground-restored", "no-floating-end")
def not_restored(plan: Draft, _rng: Random) -> Draft | None:
    back = _first_step(plan, "restore")
    later = [
        one.verb
        for at, one in plan.steps()
        if back is not None and at > back and one.verb in ("enter", "detach", "undo")
    ]
    return plan.without(back) if back is not None and later[:1] == ["enter"] else None


@operator("a ground is lifted while somebody is up", "crew-clear-of-lifted-ground")
def lifted_early(plan: Draft, _rng: Random) -> Draft | None:
    lift = _first_step(plan, "lift")
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


_enter(
    "the line end comes off by hand",
    _value("detach", lambda one: _phase(one) and bool(one["second"]), how2=" by hand"),
    "off-by-stick",
)
_enter(
    "nothing is said of how the line end comes off",
    _value("detach", lambda one: _phase(one) and bool(one["second"]), how2=""),
    "off-by-stick",
)
_enter(
    "a lead does not come off",
    _drop("detach", lambda one: bool(one["second"])),
    "every-ground-accounted",
    "release-after-all-off",
    "no-floating-end",
)
_enter("a set does not come off", _drop("undo"), "every-ground-accounted", "release-after-all-off")


@operator("the crew comes down after the first lead is off", "leave-before-removal", "zone-empty-before-removal")
def leave_late(plan: Draft, _rng: Random) -> Draft | None:
    leaves = plan.places("leave")
    if plan.places("move"):  # who has moved may reach the neutral alone
        return None
    to = next((at for at, one in plan.steps() if one.verb in ("detach", "undo") and at > leaves[-1]), None)
    return plan.move(leaves[-1], to + 1) if to is not None else None


@operator("leads come off in another order", "reverse-order")
def out_of_order(plan: Draft, rng: Random) -> Draft | None:
    found = plan.places("detach", _whole)
    pairs = [at for at in found if at + 1 in found and plan.rows[at]["at"] == plan.rows[at + 1]["at"]]
    at = _one(rng, pairs)
    return None if at is None else plan.swap(at, at + 1)


@operator("the ground end comes off first", "line-end-off-first")
def ground_end_off(plan: Draft, rng: Random) -> Draft | None:
    at = _one(
        rng,
        plan.places(
            "detach",
            lambda one: _phase(one) and _whole(one) and (one["first"][0] == "K" or one["first"].endswith("steel")),
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
    found, to = plan.places("release"), _first_step(plan, "detach", "undo")
    return plan.move(found[0], to) if len(found) == 1 and to is not None else None


@operator("the clearance is released with somebody up", "crew-clear-before-release", "no-work-after-release")
def released_over(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("release"), _first_step(plan, "work")
    return plan.move(found[0], to) if len(found) == 1 and to is not None else None


_enter("the clearance is not released", _drop_all("release"), "clearance-released")


@operator("a tag comes off before the release", "tags-stay-until-release")
def untagged_early(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("untag"), _first_step(plan, "release")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed before the release", "reenergize-last")
def closed_early(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("close"), _first_step(plan, "release")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed with grounds on", "no-energizing-with-grounds-on", "reenergize-last")
def closed_on_grounds(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("close"), _first_step(plan, "detach", "undo")
    return plan.move(found[0], to) if found and to is not None else None


@operator("a switch is closed with somebody up", "no-close-while-occupied")
def closed_on_crew(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("close"), _first_step(plan, "work")
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


def spoiled(plan: Draft, one: Operator, rng: Random) -> Draft | None:
    """The plan spoiled, or None where it can't be."""
    made = one.spoil(plan, rng)
    return None if made is None or (made.rows == plan.rows and made.layout == plan.layout) else made


__all__ = ["OPERATORS", "Operator", "row", "spoiled", "worksite_grounded"]

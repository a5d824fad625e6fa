"""Spoiled in isolation, people and paper, testing, equipment, electrodes."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from plan_rows import STEP, Draft
from spoiling import drop, drop_all, enter, first_step, operator, phase_end, pick, value, whole, worksite_grounded


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
    to = first_step(plan, "attach", "do")
    if len(found) != 1 or switches != 1 or to is None or plan.places("verify", lambda one: one["names"][2] == number):
        return None
    return plan.move(found[0], to)


@operator("an open point is not tagged", "open-point-tagged")
def untagged(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("open", lambda one: bool(one["tag"])) + plan.places("tag"))
    if at is None:
        return None
    one = plan.rows[at]
    return plan.without(at) if one.verb == "tag" else plan.put(at, one.with_(tag="", seen=one["seen"].strip(",")))


@operator("nobody sees or verifies the gap", "visible-gap-or-verified")
def unseen(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("open", lambda one: bool(one["seen"])) + plan.places("verify"))
    if at is None:
        return None
    return plan.without(at) if plan.rows[at].verb == "verify" else plan.put(at, plan.rows[at].with_(seen=""))


enter("reclosing is not blocked", drop("block"), "reclosing-blocked", "automatic-switch-disabled")
enter("the clearance is not received", drop_all("receive"), "clearance-before-ground", "clearance-before-work")
enter("nobody asks by name", value("request", by=""), "holder-named")


@operator("the clearance is received after the grounds", "clearance-before-ground")
def received_late(plan: Draft, _rng: Random) -> Draft | None:
    found, to = plan.places("receive"), first_step(plan, "enter")
    return plan.move(found[0], to) if len(found) == 1 and to is not None else None


@operator("the clearance is received before it is requested", "request-before-clearance")
def request_swapped(plan: Draft, _rng: Random) -> Draft | None:
    asked, got = plan.places("request"), plan.places("receive")
    return plan.swap(asked[0], got[-1]) if asked and len(got) == 1 else None


@operator("another releases than received", "holder-releases")
def other_holder(plan: Draft, _rng: Random) -> Draft | None:
    site = plan.about["site"]
    others = [name for name, _role in site.people if name not in (site.holder, site.second_holder)]
    found = plan.places("release")
    return plan.put(found[0], plan.rows[found[0]].with_(by=f" {site.say.by} {others[0]}")) if others else None


@operator("of two who hold a clearance one is not named", "each-crew-named")
def unnamed_holder(plan: Draft, rng: Random) -> Draft | None:
    found = plan.places("receive")
    return plan.put(at, plan.rows[at].with_(by="")) if len(found) > 1 and (at := rng.choice(found)) else None


enter("nothing is said of parallel circuits", drop_all("no_parallel"), "parallel-line-stated")
enter(
    "the sources are not said to be all",
    drop_all("no_source"),
    "between-work-and-every-source",
    "test-still-holds",
    "every-source-open",
)

# ------------------------------------------------------------------ people and paper
enter("nobody is briefed", drop_all("brief"), "briefing-before-work")


@operator("the briefing comes after the crew goes up", "briefing-before-work")
def briefed_late(plan: Draft, _rng: Random) -> Draft | None:
    brief, to = plan.places("brief"), first_step(plan, "work")
    return plan.move(brief[0], to) if brief and to is not None else None


enter("no hold stands before the first touch", drop_all("hold"), "hold-before-first-touch")
enter("no caution is stated", drop_all("caution"), "emergency-and-cautions-stated")
enter("no word on emergencies", drop_all("emergency"), "emergency-and-cautions-stated")
enter("no method is declared", drop_all("method"), "method-declared")
enter("no fault current is given", drop("fault"), "site-facts-given")
enter("no clearing time is given", drop("clears"), "site-facts-given")
enter("nothing trips", value("clears", time="never"), "site-facts-given")


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
enter("the detector is not proven before", drop("prove", lambda one: one["when"] == "before"), "detector-proven-before")
enter("the detector is not proven after", drop("prove", lambda one: one["when"] == "after"), "detector-proven-after")
enter("a test is made by hand", value("test", how=" with D1 by hand"), "test-by-stick")
enter("a test says nothing of the stick", value("test", how=" with D1"), "test-by-stick")
enter("the detector is for a lower voltage", value("detector", low="60 V", high="600 V"), "detector-fits-voltage")
enter("the detector is for a higher voltage", value("detector", low="69 kV", high="230 kV"), "detector-fits-voltage")
enter("a test finds the line live", value("test", first=True, how=" with D1 on H1 finding live"), "test-still-holds")


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
enter("leads are not inspected", drop("inspect", lambda one: one["names"] != "H1 D1"), "inspected-before-use")
enter("leads are too thin", value("lead", first=True, size="4 AWG copper"), "lead-minimum-size")
enter("leads are of thin aluminium", value("lead", first=True, size="1 AWG aluminium"), "lead-minimum-size")
enter("leads are too long", value("lead", first=True, length="45 ft"), "lead-length-limit")
enter("leads have no grade", value("lead", first=True, grade=""), "grade-named")
enter("leads are out of test", value("lead", first=True, dates="tested 2019-03-01"), "in-test-date")
enter("nothing is said of the leads' tests", value("lead", first=True, dates=""), "in-test-date")


@operator("of two leads side by side one is longer", "ganged-leads-match")
def ganged_unlike(plan: Draft, _rng: Random) -> Draft | None:
    seen: dict[tuple[str, str], str] = {}
    for at in plan.places("attach", lambda one: one.sort == STEP and whole(one)):
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
    at = pick(
        rng, plan.places("attach", lambda one: one.sort == STEP and phase_end(one) and one["first"].startswith("K"))
    )
    if at is None:
        return None
    there, _, conductor = plan.rows[at]["second"].partition(" ")
    return plan.put(
        at, plan.rows[at].with_(second=f"{rng.choice([name for name in route if name != there])} {conductor}")
    )


# ------------------------------------------------------------------ electrode
enter("a rod is too near", value("set", far="6 ft"), "rod-distance")
enter("a rod is not driven home", value("set", deep="2 ft"), "rod-full-depth")
enter("rods are short", value("rod", length="3 ft"), "rod-length", "rod-full-depth")
enter("a rod is not barricaded", drop("barricade", lambda one: one["names"].startswith("R")), "rod-barricaded")


@operator("a rod is barricaded after the crew goes up", "rod-barricaded")
def barricaded_late(plan: Draft, rng: Random) -> Draft | None:
    at = pick(rng, plan.places("barricade", lambda one: one.sort == STEP and one["names"].startswith("R")))
    to = next((place for place, one in plan.steps() if one.verb == "work" and at is not None and place > at), None)
    return plan.move(at, to) if at is not None and to is not None else None


@operator("the soil is in the wrong unit", "soil-given")
def soil_slip(plan: Draft, _rng: Random) -> Draft | None:
    at = plan.places("soil")[0]
    return plan.put(at, plan.rows[at].with_(amount="0.12 ohm m")) if plan.places("set") else None


@operator("nothing is said of the soil", "soil-given")
def soil_unsaid(plan: Draft, _rng: Random) -> Draft | None:
    return plan.without(*plan.places("soil")) if plan.places("set") else None

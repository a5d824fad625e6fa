"""What public reports of accidents found, in our own words, and what a review must find in their reconstruction.

Each report is a pair: ``NAME.case.tpg``, with every protection that the report does not deny written in, and
``NAME.twin.tpg``, in which nothing but the first of its findings is mended. Lines, structures, people and names are
made up; the report is cited by its own number alone. A model is a published procedure, ``NAME.model.tpg``.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Incident:
    """A report. ``expected`` are the checks that it asks for, the first its cause; ``mended`` is what the twin mends.

    ``kin`` are rules that must break with one of those, saying the same of the same fault; each with a reason.
    """

    name: str
    report: str
    found: str
    mended: str
    expected: tuple[str, ...]
    kin: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Model:
    """A published procedure; none of ``quiet`` may come out broken."""

    name: str
    source: str
    quiet: tuple[str, ...]


INCIDENTS = (
    Incident(
        "face-85-25",
        "NIOSH FACE 85-25",
        "a store's transformer feeds back on a phase that was tested by touching it with pliers",
        "the transformer's fuses are drawn too",
        (
            "every-source-open",
            "detector-fits-voltage",
            "detector-reaches-lowest-feed",
            "every-phase-grounded",
            "bond-across-opening",
            "gloves-until-grounded",
            "no-close-while-occupied",
        ),
        {"tested-dead-in-reach": "the test with pliers finds nothing dead, as detector-fits-voltage says"},
    ),
    Incident(
        "alert-88-104-case-2",
        "NIOSH Alert 88-104 case 2",
        "the load side of an open point is left without a ground and is fed from below",
        "one of the grounds stands on the load side",
        ("grounds-each-side", "every-source-open", "every-conductor-tested"),
        {
            "between-work-and-every-source": "what feeds from below may be anywhere, and a ground on one side does not "
            "stand between, as grounds-each-side says"
        },
    ),
    Incident(
        "nj-face-93nj019",
        "NJ FACE 93NJ019",
        "a broken conductor is taken for dead and gripped bare-handed while a transformer bank feeds it",
        "both of its ends are tested",
        ("every-conductor-tested", "every-source-open", "gloves-until-grounded", "downed-conductor-treated-live"),
        {
            "downed-conductor-kept-clear": "who grips it stands there, as downed-conductor-treated-live says",
            "downed-conductor-up-before-closing": "it is mended after the accident, past the account",
            "tested-dead-in-reach": "what is in reach without grounds was not tested, as every-conductor-tested says",
            "exposure-below-limit": "what a bank left closed puts on it, in volts, as every-source-open says",
            "reach-joined-here": "nothing joins what is in reach there, as exposure-below-limit says",
        },
    ),
    Incident(
        "face-90-02",
        "NIOSH FACE 90-02",
        "a filling station's generator makes a line live that a tree crew takes for dead",
        "the station's main breaker is opened",
        ("every-source-open", "grounds-each-side", "every-conductor-tested", "downed-conductor-treated-live"),
        {
            "downed-conductor-kept-clear": "who grips it stands there, as downed-conductor-treated-live says",
            "downed-conductor-up-before-closing": "it is mended after the accident, past the account",
            "tested-dead-in-reach": "what is in reach without grounds was not tested, as every-conductor-tested says",
            "exposure-below-limit": "no ground on at the work, said in volts, as grounds-each-side says",
            "reach-joined-here": "nothing joins what is in reach there, as exposure-below-limit says",
        },
    ),
    Incident(
        "oshrc-06-0166",
        "OSHRC 06-0166",
        "a conductor is spliced while a tap that can feed it stays closed (alleged)",
        "the tap's jumper is opened",
        ("every-source-open", "worker-inside-zone", "between-work-and-every-source", "site-facts-given"),
    ),
    Incident(
        "msha-1999-metal-nonmetal-22",
        "MSHA 1999 metal-nonmetal 22",
        "a transformer's leads are taken off with the feeder still on",
        "the feeder is switched off",
        ("every-source-open",),
    ),
    Incident(
        "hse-2007-transformer",
        "HSE 2007 transformer",
        "two linesmen each believe that the other drew the fuses",
        "the fuses are drawn and tagged",
        ("every-source-open", "open-point-tagged"),
    ),
    Incident(
        "hse-2020-tower",
        "HSE 2020 tower",
        "step bolts are changed on a tower whose circuit stays on",
        "the circuit is switched off",
        ("every-source-open", "approach-distance-kept"),
        {
            "method-built-somewhere": "the work is on steel, and the report speaks of no grounds: none are written in",
            "work-on-a-protected-line": "no ground is on where the work is, as method-built-somewhere says",
        },
    ),
    Incident(
        "face-90-08",
        "NIOSH FACE 90-08",
        "a crew looks for a fault on a line that was put back after the first round of work",
        "the line is opened again for the second round",
        ("every-source-open", "clearance-before-work", "test-still-holds", "approach-distance-kept"),
        {
            "tested-dead-in-reach": "the test of the first round holds no more, as test-still-holds says",
            "exposure-below-limit": "what a source left closed puts on it, in volts, as every-source-open says",
            "reach-joined-here": "nothing joins what is in reach there, as exposure-below-limit says",
            "work-on-a-protected-line": "no ground is on at the place, as exposure-below-limit says of the next",
        },
    ),
    Incident(
        "osha-14200174",
        "OSHA 14200174",
        "a 600 V tester is put on 13 kV",
        "the detector is made for the voltage",
        ("detector-fits-voltage", "site-facts-given"),
    ),
    Incident(
        "osha-202360731",
        "OSHA 202360731",
        "a 600 V meter is pushed into a 7.5 kV cable",
        "the detector is made for the voltage",
        ("detector-fits-voltage", "clearance-before-work", "site-facts-given"),
    ),
    Incident(
        "ontario-2014-vault",
        "Ontario 2014 vault",
        "an open, tagged handle is taken for proof that the unit is dead",
        "the unit is tested",
        ("every-conductor-tested", "visible-gap-or-verified", "every-source-open"),
        {
            "found-open-verified": "another's tag on the handle is all there is, as visible-gap-or-verified says",
            "tested-dead-in-reach": "what is in reach without grounds was not tested, as every-conductor-tested says",
            "exposure-below-limit": "what a source left closed puts on it, in volts, as every-source-open says",
            "reach-joined-here": "nothing joins what is in reach there, as exposure-below-limit says",
        },
    ),
    Incident(
        "msha-2000-coal-10",
        "MSHA 2000 coal 10",
        "the blades of a disconnect cannot be seen through its window",
        "the disconnect is verified to be open",
        ("visible-gap-or-verified", "every-source-open", "every-conductor-tested"),
    ),
    Incident(
        "cpuc-sed-2013-vault",
        "CPUC SED 2013 vault",
        "a live elbow is taken off for a dead one",
        "the other elbow's source is opened too",
        ("every-source-open",),
    ),
    Incident(
        "face-91-10",
        "NIOSH FACE 91-10",
        "a tap line that was never opened is cut, on the promise of a ground that nobody put on",
        "the tap is opened",
        (
            "every-source-open",
            "every-phase-grounded",
            "every-conductor-tested",
            "bond-across-opening",
            "gloves-until-grounded",
            "declared-protection-has-steps",
        ),
        {
            "tested-dead-in-reach": "what is in reach without grounds was not tested, as every-conductor-tested says",
            "bond-before-cut": "the opening that bond-across-opening asks to bridge",
        },
    ),
    Incident(
        "wa-building-and-energy-2022",
        "WA Building and Energy 2022",
        "earths are signed for that nobody fitted; after a first shock the work goes on",
        "the earths are fitted",
        ("every-phase-grounded", "every-conductor-tested", "declared-protection-has-steps", "stop-after-shock"),
        {
            "grounds-or-lawful-omission": "no grounds are on, as every-phase-grounded says",
            "worker-inside-zone": "no grounds are on",
            "method-built-somewhere": "no grounds are on, nor go on later",
            "between-work-and-every-source": "no grounds are on",
            "test-before-ground": "the twin's earths go on untested, as every-conductor-tested says",
            "test-at-this-structure": "the twin's earths go on untested",
            "brush-after-the-test": "what is untested is brushed all the same",
        },
    ),
    Incident(
        "oshrc-11107",
        "OSHRC 11107",
        "lines are worked on untested, untagged and without grounds",
        "the phases are tested",
        ("every-conductor-tested", "every-phase-grounded", "open-point-tagged"),
        {
            "tested-dead-in-reach": "what is in reach without grounds was not tested, as every-conductor-tested says",
            "exposure-below-limit": "no ground on, said in volts, as every-phase-grounded says",
            "reach-joined-here": "nothing joins what is in reach there, as exposure-below-limit says",
        },
    ),
    Incident(
        "osha-101350643",
        "OSHA 101350643",
        "a second phase, untested, is taken in the hand together with the grounded cable",
        "the cable goes on by stick",
        (
            "line-end-by-stick",
            "every-conductor-tested",
            "test-before-ground",
            "approach-distance-kept",
            "parallel-line-stated",
        ),
        {
            "test-at-this-structure": "the second phase is untested, as every-conductor-tested says",
            "brush-after-the-test": "the second phase is brushed untested",
        },
    ),
    Incident(
        "worksafebc-2021-tower",
        "WorkSafeBC 2021 tower",
        "spacers are changed on a conductor that is not isolated",
        "the circuit is isolated",
        ("every-source-open", "parallel-line-stated"),
    ),
    Incident(
        "doe-2013-115-kv-switch",
        "DOE 2013 115 kV switch",
        "a rod is driven and never joined to the switch stand; the foreman bridges the two",
        "rod, stand and phases are joined",
        (
            "worker-inside-zone",
            "metal-in-reach-bonded",
            "separate-grounds-bonded",
            "enter-after-zone-complete",
            "exposure-below-limit",
            "bond-across-opening",
        ),
        {
            "reach-joined-here": "what leads do not join at all they do not join here, as worker-inside-zone says",
        },
    ),
    Incident(
        "ontario-2012-neutral",
        "Ontario 2012 neutral",
        "a downed neutral is joined by a crew that had no briefing",
        "the crew is briefed",
        ("briefing-before-work", "bond-across-opening", "gloves-until-grounded"),
        {
            "briefing-opens-the-job": "nobody was briefed, as briefing-before-work says",
            "holder-briefed": "nobody was briefed, as briefing-before-work says",
        },
    ),
    Incident(
        "oshrc-12-0553",
        "OSHRC 12-0553",
        "two halves of a crew ground a line at two poles, out of touch with one another",
        "the second crew holds a clearance of its own",
        ("second-crew-coordinated", "approach-distance-kept"),
    ),
    Incident(
        "oshrc-18-0523",
        "OSHRC 18-0523",
        "a cable end is prepared with its supply still connected (alleged)",
        "the supply is opened and tagged",
        ("every-source-open", "open-point-tagged"),
    ),
    Incident(
        "osha-201361664",
        "OSHA 201361664",
        "a recloser is unbolted that each of two buckets takes for isolated",
        "the recloser's supply is opened",
        ("every-source-open", "second-crew-coordinated", "reverse-order"),
    ),
    Incident(
        "osha-14523369",
        "OSHA 14523369",
        "a switch fails and its grounded handle rises against the soil that the operator stands on",
        "the operator stands on a mat joined to the handle",
        ("switch-operator-protected", "exposure-below-limit"),
    ),
    Incident(
        "osha-200651628",
        "OSHA 200651628",
        "a foreman climbs the old line before the clearance is given",
        "the clearance is received before",
        ("clearance-before-work", "second-crew-coordinated", "no-close-while-occupied"),
        {
            "exposure-below-limit": "a line neither cleared nor grounded, said in volts, as clearance-before-work says",
            "reach-joined-here": "nothing joins what is in reach there, as exposure-below-limit says",
        },
    ),
    Incident(
        "face-91-25",
        "NIOSH FACE 91-25",
        "a new conductor swings into a live one and the tensioner that a lineman touches becomes live",
        "the man on the ground keeps off the tensioner",
        ("groundman-clear",),
    ),
    Incident(
        "face-91-20",
        "NIOSH FACE 91-20",
        "a dead conductor that is lowered recoils into a bare jumper",
        "the jumper is covered",
        ("energized-neighbour-covered", "vehicle-bonded-or-barricaded", "groundman-clear", "gloves-until-grounded"),
    ),
    Incident(
        "face-87-53",
        "NIOSH FACE 87-53",
        "a groundman touches a trailer when a conductor falls on it",
        "he keeps off the trailer",
        ("groundman-clear",),
    ),
    Incident(
        "face-86-46",
        "NIOSH FACE 86-46",
        "a boom touches a live line while a groundman touches the truck",
        "he keeps off the truck",
        ("groundman-clear",),
    ),
    Incident(
        "face-89-36",
        "NIOSH FACE 89-36",
        "a new conductor is handled into a live one four feet away",
        "the live one is covered",
        ("energized-neighbour-covered",),
    ),
    Incident(
        "oshrc-17-1188",
        "OSHRC 17-1188",
        "a conductor is raised into a live crossing four feet above",
        "the crossing is covered",
        ("energized-neighbour-covered", "groundman-clear", "approach-distance-kept"),
    ),
    Incident(
        "oshrc-15-0799",
        "OSHRC 15-0799",
        "a neutral that is pulled by hand touches the live primary above",
        "the primary is covered",
        ("energized-neighbour-covered", "groundman-clear"),
    ),
    Incident(
        "oshrc-03-1362",
        "OSHRC 03-1362",
        "the loose end of a ground wire reaches a live conductor on the old pole",
        "the wire has both ends on",
        ("approach-distance-kept", "no-floating-end", "energized-neighbour-covered", "gloves-until-grounded"),
        {
            "method-built-somewhere": "the ground wire itself is the work: no grounds on the phases are written in",
            "work-on-a-protected-line": "no ground is on where the work is, as method-built-somewhere says",
        },
    ),
    Incident(
        "osha-200001865",
        "OSHA 200001865",
        "a dead line is spliced beside the bare end of the live line that feeds it",
        "the live end is covered",
        ("energized-neighbour-covered", "approach-distance-kept", "gloves-until-grounded"),
    ),
    Incident(
        "co-face-94co003",
        "CO FACE 94CO003",
        "a bare jumper swings into the guy in a foreman's hand",
        "the jumper is covered",
        ("energized-neighbour-covered", "metal-in-reach-bonded"),
    ),
    Incident(
        "face-87-35",
        "NIOSH FACE 87-35",
        "a switch jumper is changed with one side of it still fed",
        "the supply is opened",
        ("every-source-open",),
    ),
    Incident(
        "msha-2000-coal-4",
        "MSHA 2000 coal 4",
        "a man on top of a dead transformer has the live bus above him in reach",
        "he stays out of its reach",
        ("approach-distance-kept", "every-source-open"),
    ),
)

SAYS_AGAIN = {
    "every-source-open": {
        "cut-off-while-handled": "the source that was left closed, said of what is handled",
        "source-dealt-with": "the source that was left closed, said of what is in reach",
    },
}
"""Rules that say again of the state what the first says of a step, wherever a report asks for the first."""

NOT_ENCODED = {
    "MSHA 1999 metal-nonmetal 33": "the report does not say how near the wire came, nor by what it became live; "
    "a plan has no place for a wire that swings along a span",
}
"""Reports that are not reconstructed, with what the language lacks for them."""

MODELS = (
    Model(
        "doe-2013-first-crew",
        "DOE 2013 115 kV switch, first crew",
        ("worker-inside-zone", "metal-in-reach-bonded", "separate-grounds-bonded", "enter-after-zone-complete"),
    ),
    Model(
        "29-cfr-1926-954",
        "29 CFR 1926.954 (text before 2014)",
        (
            "test-before-ground",
            "every-conductor-tested",
            "ground-end-first",
            "line-end-by-stick",
            "between-work-and-every-source",
            "line-end-off-first",
            "off-by-stick",
        ),
    ),
    Model(
        "wac-296-45-345",
        "WAC 296-45-345",
        ("worker-inside-zone", "lead-minimum-size", "lead-carries-duty", "grade-named"),
    ),
    Model(
        "wac-296-45-345-no-grounds",
        "WAC 296-45-345",
        ("worker-inside-zone", "lead-minimum-size", "lead-carries-duty", "grade-named"),
    ),
    Model(
        "mil-hdbk-1025-10-single-point",
        "MIL-HDBK-1025/10 aerial, single point",
        (
            "detector-fits-voltage",
            "detector-proven-before",
            "detector-proven-after",
            "lead-minimum-size",
            "lead-carries-duty",
            "ganged-leads-match",
            "grade-named",
            "separate-grounds-bonded",
            "method-built-as-declared",
        ),
    ),
    Model(
        "mil-hdbk-1025-10-vehicles",
        "MIL-HDBK-1025/10 table 27, vehicles",
        ("vehicle-bonded-or-barricaded", "separate-grounds-bonded", "groundman-clear", "bucket-same-zone"),
    ),
    Model(
        "mil-hdbk-1025-10-substation",
        "MIL-HDBK-1025/10 substation and underground",
        ("every-source-open", "every-conductor-tested", "between-work-and-every-source", "lead-length-limit"),
    ),
    Model(
        "cdc-backfeed",
        "CDC fact sheet, backfeed",
        ("every-conductor-tested", "detector-reaches-lowest-feed", "grounds-each-side", "every-source-open"),
    ),
)

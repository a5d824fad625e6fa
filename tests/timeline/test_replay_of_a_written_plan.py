"""Plans as they are written, read and carried out."""

from __future__ import annotations

from textwrap import dedent

from groundlint.plan.models import Plan, PointRef, Thing
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import Timeline, replay
from groundlint.values import FALSE, TRUE, Unknown

CROSSARM = """\
plan      "Change out crossarm at structure 212"
method    dual-point

line Larkspur
  voltage   12.47 kV
  phases    A B C
  neutral   N multigrounded
  route     211 (52 m) 212 (48 m) 213

source West beyond 211
  fault     6.8 kA three-phase, 5.2 kA to ground, x/r 9
  clears    in 24 cycles
no other source

switch    SW41 between West and 211 closed
structure 211 212 213 wood pole

rod       R1 R2       6 ft x 5/8 in
bar       K1 K2 K3
lead      G1..G5 G11..G15  2/0 copper 25 ft grade 3
lead      G20         2/0 copper 10 ft grade 3
detector  D1          for 5 kV to 40 kV
tester    T1
stick     H1          8 ft
crew      lineman L1, groundman M1

routine ground (structure S, rod R, bar K, leads a b c d e)
  inspect   a b c d e
  set       R at S, 16 ft from the pole, 6 ft deep
  barricade R
  prove     D1 on T1
  test      S A B C with D1 on H1
  prove     D1 on T1
  clean     S N A B C
  mount     K at S below N
  attach    a to R by hand, then to K by H1
  attach    b to K, then to S N by H1
  attach    c to S N, then to S A by H1
  attach    d to S A, then to S B by H1
  attach    e to S B, then to S C by H1

stage isolate
  brief     L1 M1
  open      SW41 and tag it
  clearance Larkspur received by L1

stage ground
  do ground (211, R1, K1, G1 G2 G3 G4 G5)
  do ground (213, R2, K2, G11 G12 G13 G14 G15)

stage work
  mount  K3 at 212 below the feet
  attach G20 to K3, then to 212 A by H1
  enter  L1 at 212 on the pole, reaching A B C and the pole
  work   "change out crossarm"
  leave  L1

stage remove
  detach G20 from 212 A by H1, then from K3
  undo ground at 213
  undo ground at 211
  clearance Larkspur released by L1
"""


class Carried:
    """A plan carried out, with its steps found by kind and its things by name."""

    def __init__(self, text: str) -> None:
        self.result = read_plan(Source("crossarm.tpg", dedent(text)))
        self.plan: Plan = self.result.plan
        self.timeline: Timeline = replay(self.plan)
        self.things: dict[str, Thing] = {thing.name: thing for thing in self.plan.things}

    def point(self, structure: str, conductor: str) -> PointRef:
        return PointRef("conductor", self.things[structure], self.things[conductor])  # type: ignore[arg-type]

    def step(self, kind: str, which: int = 0) -> int:
        return [at for at, action in enumerate(self.plan.actions) if action.kind == kind][which]


def test_a_sound_job_is_isolated_tested_grounded_worked_and_handed_back() -> None:
    job = Carried(CROSSARM)
    timeline, work = job.timeline, job.step("work")
    assert job.result.diagnostics == ()
    assert timeline.problems == ()
    west = job.things["West"]
    assert timeline.source_open(work, west) is TRUE  # type: ignore[arg-type]
    for structure in ("211", "213"):
        for phase in "ABC":
            point = job.point(structure, phase)
            assert timeline.holds(work, point)
            assert timeline.grounded(work, point, local=True) is TRUE
            assert timeline.feeding(work, point) is FALSE
    at_work = job.point("212", "A")
    assert timeline.grounded(work, at_work) is TRUE
    assert timeline.grounded(work, at_work, local=True) is FALSE  # the bar below the feet is on wood
    bar = PointRef("bar", None, job.things["K3"])
    pole = PointRef("pole", job.things["212"])  # type: ignore[arg-type]
    assert timeline.joined(work, at_work, pole, local=True) is TRUE
    assert timeline.joined(work, bar, job.point("212", "B"), local=True) is FALSE
    assert timeline.joined(work, bar, job.point("212", "B")) is TRUE  # by way of the grounds at 211 and 213
    assert timeline.clearance(work) == "received"
    end = timeline.n
    assert [timeline.ends(end, lead) for lead in job.plan.things if lead.name in ("G1", "G15", "G20")] == [(), (), ()]  # type: ignore[arg-type]
    assert timeline.clearance(end) == "released"
    assert timeline.people_in_place(end) == ()


def test_grounds_are_reported_from_the_second_end_to_the_first_taken_off() -> None:
    job = Carried(CROSSARM)
    a = job.point("211", "A")
    grounded = [at for at in range(job.timeline.n + 1) if job.timeline.grounded(at, a, local=True) is TRUE]
    lead = job.things["G3"]
    on = [i for i, act in enumerate(job.plan.actions) if act.kind == "attach" and act.slots["lead"] is lead][1]
    off = next(i for i, act in enumerate(job.plan.actions) if act.kind == "detach" and act.slots["lead"] is lead)
    assert grounded == list(range(on + 1, off + 1))


def test_a_routine_done_twice_with_the_same_equipment_is_reported_at_the_line_and_at_its_use() -> None:
    job = Carried(CROSSARM.replace("(213, R2, K2, G11 G12 G13 G14 G15)", "(213, R1, K2, G11 G12 G13 G14 G15)"))
    (problem,) = job.timeline.problems
    assert problem.code == "rod-set-twice"
    assert problem.span.text.startswith("set")
    assert [span.text.split()[0] for span, _ in problem.related] == ["set", "do"]
    assert problem.message == f"rod R1 is already set at 211 (since line {problem.span.line})"


def test_closing_the_switch_while_people_work_ends_every_test_and_feeds_the_line() -> None:
    job = Carried(CROSSARM.replace('  work   "change out crossarm"', '  close SW41\n  work   "change out crossarm"'))
    timeline, close, work = job.timeline, job.step("close"), job.step("work")
    a = job.point("213", "A")
    assert timeline.holds(close, a)
    assert not timeline.holds(work, a)
    assert timeline.expired_by(work, a) == close
    assert timeline.feeding(work, job.point("212", "A")) is TRUE
    assert [p.code for p in timeline.problems] == ["close-while-tagged"]


def test_a_plan_that_does_not_say_there_is_no_other_source_never_shows_a_point_to_be_dead() -> None:
    job = Carried(CROSSARM.replace("no other source\n", ""))
    answer = job.timeline.feeding(job.step("work"), job.point("212", "A"))
    assert isinstance(answer, Unknown)
    assert [gap.fact for gap in answer.gaps] == ["that there is no other source"]


def test_a_cut_and_a_bond_across_are_carried_out_as_written() -> None:
    job = Carried(
        CROSSARM.replace(
            '  work   "change out crossarm"',
            "  bond across 212 B with G5 by H1\n  cut 212 B\n  join 212 B\n  unbond 212 B by H1",
        ).replace("attach    e to S B, then to S C by H1", 'note "C by another lead"')
    )
    timeline, cut, join = job.timeline, job.step("cut"), job.step("join")
    b, structure, conductor = job.point("211", "B"), job.things["212"], job.things["B"]
    far = job.point("213", "B")
    assert timeline.bridged(cut, structure, conductor)  # type: ignore[arg-type]
    assert timeline.cut(join, structure, conductor)  # type: ignore[arg-type]
    assert timeline.joined(join, b, far) is TRUE
    assert timeline.holds(join + 1, far)
    assert timeline.problems == ()


def test_points_that_a_plan_leaves_open_are_carried_as_gaps() -> None:
    job = Carried(
        CROSSARM.replace("attach G20 to K3, then to 212 A by H1", "attach G20 to K3, then to nowhere A by H1")
    )
    timeline, work = job.timeline, job.step("work")
    assert job.plan.unread
    answer = timeline.grounded(work, PointRef("bar", None, job.things["K3"]), local=True)
    assert isinstance(answer, Unknown)


BONDS = """\
line Larkspur
  phases A B C
  route 211 212 213
structure 211..213 wood pole
bar K1
lead G1..G4 2/0 copper 25 ft
vehicle V1 bucket truck
stick H1
routine join (structure S, bar K, vehicle V, leads a b c d)
  bond K to S A with a by H1
  bond K to S B with b by H1
  bond V to K with c by hand
  bond across S A with d by H1
mount K1 at 212 below the feet
bond K1 to 212 C by H1
do join (212 K1 V1 G1 G2 G3 G4)
note "all on"
undo join at 212
"""


def test_bonds_from_one_bar_are_undone_one_by_one_the_last_first() -> None:
    mounted = BONDS.replace("bond K1 to 212 C by H1\n", "")
    job = Carried(mounted)
    assert job.result.diagnostics == ()
    assert [problem.message for problem in job.timeline.problems] == []
    note = job.step("note")
    after = [(str(a.slots["lead"]), str(a.slots["stick"])) for a in job.plan.actions[note + 1 :] if "lead" in a.slots]
    assert [lead for lead, _ in after] == ["G4", "G4", "G3", "G3", "G2", "G2", "G1", "G1"]
    assert {stick for lead, stick in after if lead != "G3"} == {"H1"}
    leads = [job.things[f"G{number}"] for number in range(1, 5)]
    assert all(job.timeline.ends(note, lead) for lead in leads)  # type: ignore[arg-type]
    assert not any(job.timeline.ends(job.timeline.n, lead) for lead in leads)  # type: ignore[arg-type]


def test_undoing_a_bond_leaves_the_bonds_that_others_made_on_the_same_bar() -> None:
    job = Carried(BONDS)
    a, b, c = (job.point("212", phase) for phase in "ABC")
    bar = PointRef("bar", None, job.things["K1"])
    end = job.timeline.n
    assert [job.timeline.joined(end, bar, point) for point in (a, b, c)] == [FALSE, FALSE, TRUE]


def test_bonds_without_a_lead_are_undone_at_the_end_that_they_do_not_share() -> None:
    job = Carried(BONDS.replace(" with a", "").replace(" with b", "").replace("bond K1 to 212 C by H1\n", ""))
    assert [problem.message for problem in job.timeline.problems] == []
    bar, end = PointRef("bar", None, job.things["K1"]), job.timeline.n
    assert [job.timeline.joined(end, bar, job.point("212", phase)) for phase in "AB"] == [FALSE, FALSE]

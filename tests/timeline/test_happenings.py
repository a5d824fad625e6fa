"""What a step did is the same whatever the step was called."""

from __future__ import annotations

import pytest

from groundlint.review import trace_of

HEAD = """\
plan "Change out insulator"
line Larkspur
  voltage 12.47 kV
  phases A B C
  neutral N multigrounded
  route 211 (50 m) 212 (50 m) 213
source West beyond 211
switch SW41 between West and 211
structure 211 212 213 wood pole
rod R1 6 ft x 5/8 in
bar K1
lead G1..G3 2/0 copper 25 ft grade 3
stick H1 8 ft
vehicle T1
crew lineman L1, groundman M1
"""


def happened(steps: str, *kinds: str) -> list[str]:
    trace = trace_of(HEAD + steps)
    assert not isinstance(trace, tuple), [problem.message for problem in trace]
    return [
        " ".join([event.kind, *("?" if hasattr(v, "gaps") else str(v) for v in event.slots.values())])
        for at in range(trace.n)
        for event in trace.happenings(at)
        if not kinds or event.kind in kinds
    ]


UP = "set R1 at 212, 16 ft from the pole, 6 ft deep\nmount K1 at 212 below the feet\nattach G1 to R1, then to K1\n"
ON = ["first-end-on G2 K1 ? None", "second-end-on G2 212 A H1 K1"]


@pytest.mark.parametrize(
    "words",
    [
        "attach G2 to K1\nattach G2 to 212 A by H1\n",
        "attach G2 to K1, then to 212 A by H1\n",
        "bond K1 to 212 A with G2 by H1\n",
    ],
)
def test_a_lead_goes_on_in_any_words(words: str) -> None:
    found = happened(UP + words, "first-end-on", "second-end-on")[2:]
    assert [line.replace(" H1 None", " ? None") for line in found] == ON
    assert "gains-electrode 212 A" in happened(UP + words)


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("detach G2 from 212 A by H1, then from K1\n", "212 A"),
        ("lift G2 from 212 A by H1\ndetach G2 from K1\n", "212 A"),
        ("unbond 212 A by H1\n", "212 A"),
        ("unbond K1 by H1\n", "K1"),
    ],
)
def test_a_lead_comes_off_in_any_words(words: str, first: str) -> None:
    found = happened(UP + "bond K1 to 212 A with G2 by H1\n" + words, "first-end-off", "last-end-off")
    assert found[0].startswith(f"first-end-off G2 {first} ")
    assert found[1].startswith("last-end-off G2 ")


@pytest.mark.parametrize("words", ["attach G2 to K1, then to 212 A by H1", "bond K1 to 212 A with G2 by H1"])
def test_what_a_routine_put_on_last_is_undone_first_in_any_words(words: str) -> None:
    found = happened(f"routine on\n  {words}\n{UP}do on\nundo on\n", "first-end-off", "last-end-off")
    assert found[0].startswith("first-end-off G2 212 A ")
    assert found[1].startswith("last-end-off G2 K1 ")


def test_the_side_of_a_cut_to_come_comes_off_first_where_it_is_named() -> None:
    steps = "bond K1 to 212 A far side with G2 by H1\nunbond 212 A far side by H1\n"
    assert happened(UP + steps, "first-end-off")[0].startswith("first-end-off G2 212 A ")


def test_a_bond_without_a_lead_goes_on_and_comes_off() -> None:
    found = happened(UP + "bond T1 to K1\nunbond T1\n", "goes-on", "comes-off", "vehicle-bonded", "vehicle-unbonded")
    assert [" ".join(line.split()[:3]) for line in found[2:]] == [
        "goes-on ? T1", "goes-on ? K1", "vehicle-bonded T1", "comes-off ? T1", "comes-off ? K1", "vehicle-unbonded T1",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [
        "enter L1 at 212 on the pole, reaching A\n",
        "enter L1 at 212 on the pole, reaching nothing\nmove L1 reaching A\n",
        "enter L1 at 211 on the pole, reaching nothing\nmove L1 to 212 on the pole, reaching A\n",
    ],
)
def test_somebody_comes_to_reach_a_point_in_any_words(words: str) -> None:
    assert happened(words, "comes-into-reach") == ["comes-into-reach 212 A L1"]


def test_a_switch_gives_and_takes_the_way_of_a_source() -> None:
    found = happened("open SW41, lock it and tag it\nuntag SW41\nclose SW41\n")
    assert [line for line in found if "212 A" in line] == ["loses-way West 212 A", "gains-way West 212 A"]
    assert [line for line in found if "SW41" in line] == [
        "opens SW41", "lock-goes-on SW41", "tag-goes-on SW41", "tag-comes-off SW41", "lock-comes-off SW41",
        "closes SW41",
    ]  # fmt: skip


def test_the_last_electrode_of_a_conductor_comes_off_with_whichever_lead() -> None:
    up = UP + "attach G2 to K1, then to 212 A by H1\n"
    assert "loses-electrode 212 A" in happened(up + "detach G1 from R1\n")
    assert "loses-electrode 212 A" in happened(up + "detach G2 from 212 A by H1\n")
    assert "loses-electrode 212 A" not in happened(up + "attach G3 to K1\ndetach G3 from K1\n")

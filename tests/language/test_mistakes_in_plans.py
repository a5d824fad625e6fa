"""Common mistakes, each with the message it deserves; the messages are kept beside this file."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from groundlint.language.reader import read_statements
from groundlint.text import Source
from groundlint.text.columns import marked_line

# One mistake each, as a lineman, an engineer or another program would make it.
MISTAKES = """\
line Harrow, 12.47 kV, phases A B C
line Harrow voltage 12.47 kV
source S utility beyond 116 fault 4 kA
source S utility beyond 116 clears in 12 cycles, grounding solid
source S 4 kA
parallel T beside 2 to 3 at 9 m, voltage 69 kV
fault 6.8 kV three-phase
fault 6.8 three-phase
fault 6,8 kA three-phase
fault 6.8 kAmps three-phase
fault 6.8kA bolted
fault kA 6.8
voltage 12.47
voltage 12,470 V
voltage 12.47 KV/phase
voltage 12.47 kv nominal
frequency 60
clears 24
clears in 0.4 sec maybe
clears in 24 cicles
soil 120 ohms
soil 120
soil .5 ohm m
lead G1 2/0 copper 25
lead G1 2/0 copper 25 feets
lead G1 2/0 copper 25' grade 3
lead G1 7/0 copper 25 ft
lead G1 95 copper 25 ft
lead G1 2/0 cooper 25 ft
lead G1 2/0 copper 25 ft grade 9
lead G1 2/0 copper 25 ft class 3
lead G1 2/0 copper -25 ft
lead G1 2/0 copper 25 ft 30 ft
lead 2/0 copper
breaker 1205 between Bus and D1205 normally closed
vehicle 7 bucket truck
rod R1 6 ft x 5/8
rod R1 6 ft by 5/8 in
detector D1 5 kV to 40 kV
detector D1 for 5 to 40 kV
stick H1 8
tester T1 tested 2026-02-30
tester T1 tested 03/02/2026
tester T1 tested yesterday
document LP-0417 rev 3 date 2026-03-02
plan Change out crossarm
```tpg
plan “Change out crossarm”
plan 'Change out crossarm'
plan "Change out crossarm
plan ""
method equipotential
method single point
line
lien Larkspur
source West beyond
no other sorce
switch SW41 betwen West and 211
switch SW41 between West
structure 212 fibreglass pole
structure 211 212A 213 wood pole
structure 212 wood pole; structure 213 wood pole
crew L1 lineman
crew lineman
wires A B C 336.4 acsr
wires A B C 336.4 mcm acrs
wires A B C 2 x acsr 18 in apart
wires A B C 2 x 954 kcmil acsr 18 apart
wires A B C 954 kcmil acsr 0.117 ohm/mi
wires A B C 954 kcmil acsr 0.117 ohm at 50 C
wires A B C 0.117 ohm/mi at 50 C gmr 0.0403 ft
route 211 52 m 212
route 211 (52) 212
route 211 (52 m 212
neutral N multi grounded
neutral N grounded
routine ground structure S
routine ground (S, R, K)
routine (structure S)
stage
ground R1 at 212
install R1 at 212
step four open SW41
4 -- open SW41
4.
4. line Larkspur
opne SW41
open SW41 & tag it
attach G1 R1
attach G1 to
attach G1 on K1 to 212 A
attach G1 to K1 and after that 212 A
attach G1 to K1, to 212 A
attach G1 to K1, then to 212 A, then to 212 B
attach G1 to K1 at H1
voltage 7.2/12.47 kV
voltage 12.47/7.2 kV
static wire SW 3/8 in steel
tower 212 steel tubular
circuit breaker SW8 between West and 211 with remote control
wires A B C 240/40 acsr
verify T7 open, lock and tag it
regulator VR3 at 118
transformer bank T9 at 309
attach to K1
detach G1 to K1
test 212 A B C using D1 with H1 result dead
clean
mount K1 on 212
mount K1 at 212 under the feet
set R1 at 212 16 ft away
set R1 at 14/5, 20 ft from the pole
pole 14/5 14/6 wood
rod R1 5/8 x 8 ft
clean 212 A/B
brief L1/14
enter L1 on pole 212 reaching A
enter L1 at 212 on the pole, reaching
climb L1 212
work change out crossarm
clearance granted
clearance transferred from L1 to L2
clearance transferred by L1 to L2, operater told
clearance received by L1 to L2
clearance released by L1, crew told
clearance transferred by L1 to L2 to L3
clearance transferred by L1 to L2, told crew
if SW41 open
do ground 211 R1
do (211, R1)
undo
waive because "no reason"
waive bar-below-feet until summer
hold until foreman agrees
G1 attach to K1
attach G1 to @K1
attach G1 to K1 -> 212 A
{"kind": "plan"}
| step | what |
- open SW41
wait 5
given fault default 6 kA
bond V1 R1
gloves L1 on
lift G1 from 212 A protected "gloves"
tensionner V1
verify SW41 closed
rod R1 8' x 5/8
rod 8 ft x 5/8 in R1
stick 8 ft H1
detector D1 for 4-46 kV
fault three-phase 5.6 kA
stage: ground
Curlew opens SW41
crew lineman L1, groundmn M1
cable UG1 between 212 and 213
cable UG1 from 212
cable UG1 from 212 to 213 by (60 m)
cable UG1 from 212 to 213 by MH1 (60 A)
cable UG1 from 212 to 213 transfer of potential
spike at MH1
spike UG1 UG2 at MH1
capacitor CB1 on 212
capacitor bank at 212
disconnect capacitor
disconnect CB1 by H1
discharge CB1 by H1 by hand
phases A B C neutral N
""".splitlines()
MISTAKES += [
    "A. open SW41",
    "(3) open SW41",
    "iv) open SW41",
    "4.open SW41",
    "• open SW41",
    "phases A B C,\n  neutral N multigrounded",
    "wires A B C 336.4 kcmil acsr, N 4/0 acsr,\n  route 211 (52 m) 212",
    "11. attach G1 to R1, then to K1,\n12. bond V1 to K1 with G6",
    "conductor 1/0 ACSR phases, #2 ACSR neutral",
    "wires A B C 1/0 acsr, N 2 acsr",
    "conductors A B C 95 acsr",
    "switch R14 between Hillside and 86 normally closed, load break",
    "tester T1 tested 2026\u201303\u201302",
    "method dual\u2013point from bucket",
    "lead G1\u2013G4 2/0 copper",
    "detector VD1 5-35 kV",
    "stick S1 8-10 ft",
    "lead G1 thru G4 2/0 copper",
    "lead G1 through G4 2/0 copper",
    "lead G1 to G4 2/0 copper",
    "phases: A B C",
    "line Oak\n  phases A\nsource Hill\nstructure 44 wood\nlead W1 2/0 copper\nstage ground\n  1. ground A with G2",
    "source Hillside substation beyond 86",
    "line L\n  route 86 (210 ft) 87 (195 ft) 88\npoles 86-88 wood",
    "bar K1-3\nstage ground\n  1. mount K1 at 212 below the feet",
]
READ = [
    "structure 12-34 wood",  # a pole's number in many a house
    "line L\n  route 86 (210 ft) 87\nstructure 12-34 wood\nstructure 12-35 wood",
    "cable P1-P2",
]


def said(text: str) -> str:
    """The diagnostics of a text as a person sees them: the line, the place, what is said, what to do."""
    parts = []
    for diagnostic in read_statements(Source("plan.tpg", text)).diagnostics:
        line, marks = marked_line(diagnostic.span)
        mend = f"\n  -> {diagnostic.mend}" if diagnostic.mend else ""
        parts.append(f"{line}\n{marks}\n{diagnostic.code}: {diagnostic.message}{mend}")
    return "\n".join(parts)


def test_no_mistake_is_there_twice() -> None:
    assert len(MISTAKES) == len(set(MISTAKES))


@pytest.mark.parametrize("text", MISTAKES)
def test_a_mistake_is_reported_at_its_place(text: str) -> None:
    found = read_statements(Source("plan.tpg", text)).diagnostics
    assert found
    for diagnostic in found:
        assert diagnostic.unread
        assert 0 <= diagnostic.span.start <= diagnostic.span.end <= len(text)
        assert diagnostic.message
        assert len(diagnostic.message) < 300


@pytest.mark.parametrize("text", READ)
def test_a_name_with_a_hyphen_is_a_name(text: str) -> None:
    assert read_statements(Source("plan.tpg", text)).diagnostics == ()


@pytest.mark.parametrize(("first", "second"), [("8 ft", "5/8 in"), ("2.4 m", "16 mm"), ("8 ft", "0.625 in")])
def test_a_rod_is_longer_than_it_is_thick_whichever_is_stated_first(first: str, second: str) -> None:
    found = [
        read_statements(Source("plan.tpg", f"rod R1 {one} x {other}\n"))
        for one, other in ((first, second), (second, first))
    ]
    assert not found[0].diagnostics + found[1].diagnostics
    assert found[0].text.statements == found[1].text.statements
    assert str(found[1].text.statements[0].length) == first  # type: ignore[attr-defined]


def test_messages_are_those_that_were_read_over(snapshot: SnapshotAssertion) -> None:
    assert "\n\n".join(said(text) for text in MISTAKES) == snapshot

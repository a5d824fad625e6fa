"""Sound plans of any number of steps: grounds go on, are worked under and come off again, as often as it takes."""

HEAD = """\
plan      "Change out insulators from 212 on"
document  LP-0500 revision 1 dated 2026-03-02
method    single-point from the pole
caution   "traffic on the road below"
emergency "call dispatch on channel 3; bring the injured down by hand line"
line Larkspur
  voltage   12.47 kV
  frequency 60 Hz
  phases    A B C
  neutral   N multigrounded carries the fault
  no shield wire
  wires     A B C 336.4 kcmil acsr, N 4/0 acsr
  route     211 (52 m) 212 (48 m) 213 (50 m) 214
source West beyond 211
  voltage   12.47 kV
  fault     6.8 kA three-phase, 5.2 kA to ground, x/r 9
  clears    in 24 cycles
  relay     iec-very-inverse pickup 300 A dial 0.1 breaker 5 cycles
  reclosing blocked
no other source
no parallel line
no live neighbour
recloser  SW41 between West and 211 200 ft from 211 automatic
structure 211 212 213 214 wood pole
soil      120 ohm m
measured  bar-to-pole-resistance 0.1 ohm
bar       K1
lead      G1..G4 2/0 copper 25 ft grade 3 tested 2025-09-10
detector  D1 for 5 kV to 40 kV
tester    T1
stick     H1 8 ft
crew      lineman L1, groundman M1
stage isolate
brief L1 M1
open SW41, gap seen, lock it and tag it
disable control of SW41 and tag it
clearance Larkspur received by L1
hold "until the foreman has looked over the grounds"
"""
TAIL = "clearance Larkspur released by L1\n"
CYCLE = """\
inspect G1 G2 G3 G4
prove D1 on T1
test {at} A B C with D1 on H1
prove D1 on T1
mount K1 at {at} below the feet
clean {at} N A B C
attach G1 to K1, then to {at} N by H1
attach G2 to K1, then to {at} A by H1
attach G3 to {at} A, then to {at} B by H1
attach G4 to {at} B, then to {at} C by H1
enter L1 at {at} on the pole, reaching N A B C and the pole
work "change out insulators"
leave L1
detach G4 from {at} C by H1, then from {at} B
detach G3 from {at} B by H1, then from {at} A
detach G2 from {at} A by H1, then from K1
detach G1 from {at} N by H1, then from K1
dismount K1
"""


def plan_of(steps: int) -> str:
    """A sound plan of about so many steps."""
    fixed = HEAD.partition("stage isolate\n")[2].count("\n") + TAIL.count("\n")
    cycles = max(1, round((steps - fixed) / CYCLE.count("\n")))
    return HEAD + "".join(CYCLE.format(at=211 + at % 4) for at in range(cycles)) + TAIL

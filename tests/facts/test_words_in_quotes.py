"""Words in quotes that say what only a step of its own can say are asked for, and those of harmless work are not.

Each text stands in a plan of its own words while a lineman is up, as work and as a note.
"""

from __future__ import annotations

from crowd import reviewer_by

from groundlint.text import Source

RULE = "words-replace-no-step"

PLAN = """plan "Insulators at 43"
line Sorrel
  voltage 12.47 kV
  phases A B C
  neutral N multigrounded
  no shield wire
  route 41 (60 m) 42 (60 m) 43 (60 m) 44 (60 m) 45
source Mill beyond 41
source South beyond 45
no source but Mill South
no parallel line
no live neighbour
disconnect S41 between Mill and 41 closed visible gap manual
disconnect S45 between South and 45 closed visible gap manual
structure 41..45 wood pole
bar K1
lead G0..G3 2/0 copper 10 ft
detector D for 4 kV to 36 kV
tester PT
stick H 8 ft
crew foreman Ames, lineman Bell Cole qualified, groundman Dunn
open S41 S45, lock them and tag them
clearance received by Ames
prove D on PT
test 43 A B C with D on H
prove D on PT
mount K1 at 43 below the feet
attach G0 to 43 N by H, then to K1
attach G1 to K1, then to 43 A by H
attach G2 to K1, then to 43 B by H
attach G3 to K1, then to 43 C by H
enter Bell at 43 on the pole, reaching A B C N pole
"""

SPEAKING = """
close S41 to see whether it holds
S41 was found in
S41 stays in
S41 remains closed
the breaker stays shut until noon
S45 is in again
the bank controller times in at noon
S41 shows 12 A on C
raise the bank, hot from the secondary
Mill lets South pick up 42
the train bridges the neutral section
inverter was left on
the roof array is on
the shop plugs its set into the welder outlet
Bell takes his set along
G2 fell off in the night
G3 is finger tight
G1's clamp is missing
stand on the phone strand
Dunn dresses 44 meanwhile
Dunn works inside the barricade
the helicopter sets Dunn on the arm
throw S41 in without a word to the crew
strip the set with nobody below
the line goes back at four whether or not the arm is on
told the desk that the line may go back
Ames reports the line clear to dispatch
dispatch has the all clear
the line goes back in after lunch
Ames lets dispatch have the line
the permit is closed at noon
hold card pulled
reclose is normal
the locks are changed to the night crew
pick the load up
load is transferred to South
hot-tap the line
make up the tails hot
burn it in
restore the customers
the school is fed from the other end
put juice on it
vlf the cable
check phasing across S45 with the sticks
Dunn resets his breaker
the farm switches over to its own set
operate S45 twice to free the blades
work the blades a few times
control needs South for an hour
South is put back in by control
the loop is closed at the tie
relay crew trip-tests Mill
a jumper is run around S45
the chain is dropped
strip the set
take B out of the set
unground B
shift the mat a yard
saw through the down-lead
snip B
press a sleeve in B
cut in a switch
put in an in-line opener
drop the loops
take the burnt piece out
swap A and C
nip over to 44 for the drill
the same at 44
Dunn comes up to help
Cole works ahead at 44
Cole spells Bell
Dunn leans on the guy
an inspector goes up
pull rope to 44
throw a line over the lower circuit
Bell gets a bite off the arm
the neutral is warm
B sparks to the clamp
some voltage on B
disconnect the pole ground from the neutral
loosen the ground connector on the pole ground
take the down ground off
shift the ground clamp on the neutral
take off clamps and dampers
renew the clamps
reset the breaker
cut in a new dead-end insulator
a wire is down at 44
a tree fell across the line
""".strip().splitlines()

HARMLESS = """
S41 is in sight of Ames
S41 stays in sight
bring the chain hoist
Cole helps Bell with the hand line
S41 stays open and tagged
S41 is in plain view
G1 is in good order
S41 shows 0 A
the panels are out and locked
generator is on the trailer
the inverter is off and tagged
takes up the slack
set the reel stand on the ground
look whether the bolts are tight
ask the operator whether reclosing is off
lift the arm without closing S41
hold the load off the insulator with the jack
take the load off the insulator with the jack
take out the burnt insulator
the trailer lights are on
the clearance was given in writing
pick the load up with the crane
pick up the slack
drop a hand line
break the bolts loose
take the strain with the chain hoist
chain the pole to the butt
cut the ties
cut a limb off C
cut the tie wire on B
saw the old arm through
press the new bushing in
open the tool bag
work the bolt loose
load the old arm on the truck
tie B in
string the guy
mark the phases
count the tools
flagger reports the road clear
hand line is clear
radio check with the operator
tell dispatch the work has begun
dispatch has the count of leads
start the compressor
transfer the conductors
the load is transferred to the temporary arm
try the hoist
back to normal sag
Dunn sends the arm up
Dunn takes the tag line
Dunn goes to the truck
put the bird guard on C
put a new insulator on the pin
make up the dead-end
lift B off the pin, change it, lay B back
swing the old arm round
restore the tension
the mill's generator is locked out
the permit is on the dash
locks and tags stay on
turn the work lights on
nobody touches the guy
change the spool of the neutral
A new arm, and A tied in
mount the arrester and make up its lead to the down ground
hang the transformer, connect its tank ground to the pole ground and its primary to A
connect the new arrester's ground lead to the neutral
tighten the ground connector on the neutral
install the pole ground: staple the wire down the pole and connect it to the neutral
suspension clamps and dampers
put a new stirrup and hot line clamp on A
make up the riser on A with two-bolt clamps
reset the counter
put the hoist on, pull up, cut in a new bell
""".strip().splitlines()


def found(verb: str, texts: list[str]) -> list[str]:
    """Those of the texts at whose step something is said of its words; each is reviewed by itself."""
    return [one for one in texts if RULE in called(f'{verb} "{one}"\n')]


def called(steps: str, plan: str = PLAN) -> set[str]:
    return {one.slug for one in reviewer_by("practice").review(Source("plan.tpg", plan + steps)).findings}


def test_what_only_a_step_can_say_is_asked_for_in_work() -> None:
    assert found("work", SPEAKING) == SPEAKING


def test_what_only_a_step_can_say_is_asked_for_in_a_note() -> None:
    said = [one for one in SPEAKING if one not in ("nip over to 44 for the drill", "the same at 44")]
    assert found("note", said) == said


def test_words_of_harmless_work_are_let_be() -> None:
    assert found("work", HARMLESS) == []
    assert found("note", HARMLESS) == []


def test_words_may_name_a_structure_that_is_in_reach() -> None:
    reaching = PLAN.replace("A B C N pole", "A B C N pole, 44 pole").replace("(60 m) 44", "(2 m) 44")
    said = 'work "move the phases over and tie in on 44"\n'
    assert RULE in called(said)
    assert RULE not in called(said, reaching)
    assert RULE in called('work "climb over to 44 and tie in"\n', reaching)
    assert RULE in called("move Bell at 43 on the pole, reaching A B C N pole\n" + said, reaching)


def test_a_hold_lets_time_pass() -> None:
    holds = ["until shift change", "until the rain is over", "until 7 am"]
    assert found("hold", holds) == holds
    assert found("hold", ["until Ames has looked over the set"]) == []


def test_a_test_of_what_is_lifted_for_it_is_let_be() -> None:
    lifted = 'leave Bell\nlift G1 from 43 A by H for "insulation test" protected by "nobody up"\n'
    assert RULE not in called(f'{lifted}note "insulation test on A"\n')


def test_what_is_asked_of_words_says_what_to_write() -> None:
    review = reviewer_by("practice").review(Source("plan.tpg", PLAN + 'work "renew the clamps"\n'))
    (ask,) = (one for one in review.asks() if one.rules == (RULE,))
    assert "as a step, or take the words out" in ask.how(review.plan)

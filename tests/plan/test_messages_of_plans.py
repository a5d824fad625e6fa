"""What is said of a plan that reads word by word and yet can't be meant or done so, in one snapshot to be read.

Each change is made to one sound plan. No message of these stages is left out: the codes are looked up in the source.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from syrupy.assertion import SnapshotAssertion

import groundlint
from groundlint.reading.resolve import read_plan
from groundlint.text import Diagnostic, Source
from groundlint.timeline import replay

PLAN = """\
plan "Change an insulator"
line Larkspur
  voltage 12.47 kV
  phases A B C
  neutral N multigrounded
  wires A B C 336.4 kcmil acsr, N 4/0 acsr
  route 211 (52 m) 212 (48 m) 213 (200 m) 214
source West utility beyond 211
  fault 6.8 kA three-phase, 5.2 kA to ground, x/r 9
  clears in 24 cycles
no other source
switch SW1 between West and 211 closed
structure 211..214 wood pole
cable U1 from 213 to 214 by V1 (150 m)
capacitor CB1 at 212
loose wire J1 25 ft
soil 100 ohm m
rod R1 R2 6 ft x 5/8 in
bar K1 K2
lead G1..G4 2/0 copper 25 ft grade 3
vehicle T9 truck
detector D1 for 5 kV to 40 kV
tester D2
crew lineman L1 L2
given gap as length
routine bars (structure S)
  mount K2 at S below the feet
inspect G1..G4
set R1 at 212, 16 ft from the pole, 6 ft deep
mount K1 at 212 below the feet
attach G1 to R1, then to K1
"""

CHANGES = r"""
| given gap as length
| given stretch as length default 4
| given stretch as length default 4 kV
| prove D1 on T9
no other source => source Net at 214 customer\n  fault 2 kA three-phase\n  clears in 9 cycles\nno other source
  voltage 12.47 kV =>   voltage 12.47 kV\n  spacing flat-crossarm
  voltage 12.47 kV =>   voltage 12.47 kV\n  spacing crossarm-8
| set R2 at 212, given gap from the pole, given span deep
  voltage 12.47 kV => given kv as length default 4 m\n  voltage given kv
213 (200 m) 214 => 213 (200 m) 211
structure 211..214 wood pole => structure 211..214 wood pole\nstructure 210 wood pole dead-end
  neutral N multi => dead end at 214\n  neutral N multi
wires A B C 336.4 kcmil acsr => wires A A 336.4 kcmil acsr
phases A B C => phases A B C D
neutral N => neutral N M
wires A B C => wires A B D
no other source => source East utility beyond 214 through SW7\nno other source
no other source => source East utility beyond 211 through SW2\nswitch SW2 at 214 disconnect\nno other source
no other source => switch SW2 at 211 disconnect\nno other source
  wires A B C 336.4 kcmil acsr, N 4/0 acsr =>   wires A B C 336.4 kcmil acsr Linnet, N 4/0 acsr
| lead G9 2/0 galvanized steel 25 ft
| enter L1 at 212 on the ground, reaching G1
| enter L1 at 212 on the pole, reaching A CB1
| lead G9 2/7 copper 25 ft
| lead G9..G5 2/0 copper 25 ft
| neighbour Elm 69 kV, 6 ft from 212 A, covered, bare
soil 100 ohm m => soil 100 ohm m\nsoil 200 ohm m
| rubber gloves RG1 class 9
| lead G9 2/0 copper 25 ft, clamps fit 4/0 to 2/0
| plan "Another"
  voltage 12.47 kV => voltage 12.47 kV\n  voltage 13 kV
line Larkspur => line Larkspur Birch
line Larkspur => voltage 12.47 kV\nline Larkspur
| bar K1
| routine bars (structure S)\n  mount K2 at S
| routine none (structure S)\n
| measured soli 100 ohm m
| measured soil resistivity 10 kV
| measured pole resistance 1 mohm
| measured pole resistance 40 kohm\nmeasured pole resistance 41 kohm
| do poles (212)
| do bars (212, 213)
| undo bars (212)
| routine a (structure S)\n  do b (S)\nroutine b (structure S)\n  do a (S)\ndo a (212)
| use "../parts.tpg"
| use "/parts.tpg"
| use "parts.tpg"
| part 0 of 2
| part 3 of 2
| begins with G2 from K1 to 212 A
| leaves G1 from R1 to K1
| part 2 of 3\nbegins with G2
| attach G7 to K1
| attach K1 to K2
| attach K1 to 212
| attach G2 to D1
| attach G2 to 212
| attach G2 to A
| clean 211..299 A
| clean 214..211 A
| clean B
| test A with D1
| open SW9
| open SW1\nopen SW1
| close SW1
| lock SW1
| verify SW1 open
| open SW1\nlock SW1\nclose SW1
| open SW1, lock it and tag it\nclose SW1
| open SW1 and tag it\nclose SW1
| open SW1\ntag control of SW1\nclose SW1
| untag SW1
| enable control of SW1
| verify SW1 closed
| enter L1 at 212 A\nenter L1 at 213 A
| leave L1
| move L1 to 212 B
| stow J1
| set R1 at 213
| pull R2
| mount K1 at 213
| dismount K1
| dismount K2
| attach G2 to R2
| attach G2 to K2
| attach G1 to K1
| attach G1 to 212 A
| detach G2 from K1
| detach G1 from 212 A
| restore G1 to K1
| bond K1 to K2 with G1
| unbond K2 from 212 A
| lift G1 from 212 A
| cut 212 A\ncut 212 A
| cut 212 R1
| join 212 A
| spike U1 at 213\nspike U1 at 213
| spike U1 at 211
| disconnect capacitor CB1\ndisconnect capacitor CB1
structure 211..214 wood pole => fuse F9 between 211 and CB1\nstructure 211..214 wood pole
| discharge CB1 by L2
| barricade R1\nunbarricade R1\nunbarricade R1
| hand over clearance LP-1 to L9
| release clearance LP-1
| receive clearance LP-1 from L2\nreceive clearance LP-1 from L2
| L3 stands clear
| crew lineman R1
| use grounds
cable U1 from 213 => cable U1 from 211
cable U1 from 213 to 214 by V1 (150 m) => cable U1
cable U1 from 213 to 214 by V1 (150 m) => cable U1 from 213 to 214 by V1 (350 m)
cable U1 from 213 to 214 by V1 (150 m) => cable U1 from 213 to 214 by 212
soil 100 ohm m => soil 100 ohm m\ncable U2 from 213 to 214
336.4 kcmil acsr => 7 x 336.4 kcmil acsr
336.4 kcmil acsr => 336.4 kcmil acsr, 0.4 m apart
336.4 kcmil acsr => 2 x 336.4 kcmil acsr, 40 m apart
336.4 kcmil acsr => 9 mm across copper 0.001 ohm/km at 20 C
336.4 kcmil acsr => 9 mm across copper 0.5 ohm/km at 900 C
336.4 kcmil acsr => 9 mm across copper 0.5 ohm/km at 20 C gmr 9 mm
336.4 kcmil acsr => 9 mm across copper 0.5 ohm/km at 20 C gmr 1 mm
| set R2 at 212, 3 ft from R2
| set R2 at 212, 3 ft from 212
| rod R3 0 ft x 5/8 in
| rod R3 6 ft x -1 in
| attach G2 to pole
| attach G2 to V1 pole
| attach G2 to K1 near side
no other source => source East utility beyond 214\nno other source
no other source => source East utility beyond 214\nno source but East
  clears in 24 cycles => clears in 24 cycles\n  through SW1 SW9
  clears in 24 cycles => clears in 24 cycles\nswitch SW2 between West and 211
  clears in 24 cycles => clears in 24 cycles\n  through SW1\nswitch SW2 between West and 211
| no parallel lines\nparallel Elm 69 kV, 40 ft
| parallel Elm beside 211 to 213 at 40 ft\n  fault 4 kA three-phase, 3 kA to ground
| parallel Elm beside 211 to 213 at 40 ft\n  place A (20 m, 10 m) B (20 m, 14 m) C (20 m, 18 m)
| parallel Elm beside 211 to 213 at 40 ft\n  relay iec-very-inverse pickup 300 A dial 0.2 breaker 5 cycles
| parallel Elm beside 211 to 213 at 40 ft\n  clears in 24 cycles at 900 A or more
  fault 6.8 kA three-phase, 5.2 kA to ground =>   fault 6.8 kA three-phase, 5.9 kA phase-to-phase, 5.2 kA to ground
  clears in 24 cycles =>   clears in 24 cycles at 900 A\n  relay iec-very-inverse pickup 300 A dial 0.2 breaker 5 cycles
| routine shown (structure S, leads A B)\n  clean S A\n  attach A to K1\ndo shown (212, G2 G3)
| routine shown (structure S, leads A B)\n  clean S A
| neighbour Elm live 69 kV at 212 6 ft from 212 A covered bare
| rubber line hose LH\nneighbour Elm Oak covered with LH
| detector D3 for 40 kV to 5 kV
| lead G9 2/0 copper 25 ft fit 4/0 to 2/0
| lead G9 2/0 copper 25 ft fit 4/0 to 9/0
| lead G9 95 mm2 copper 25 ft fit 2/7 to 4/0
| 1. note "one"\n3. note "two"\n2. note "three"
| unbond K1
| unbond K1 T9
| attach G2 to 212 K1
| undo bars at 212
| undo bars at 213\ndo bars (212)
| measured wood-pole-resistance 10 kV
| measured wood-pole-resistance 1 mohm
| measured wood-pole-resistance 40 kohm\nmeasured wood-pole-resistance 41 kohm
| measured pole-resistance 40 kohm
| leaves G1 on under the clearance of L1
| part 1 of 2\nleaves G1 on under the clearance of L9
| enter L1 at 212 on the pole, reaching 212 A\nenter L1 at 213 on the pole, reaching 213 A
| move L1 to 213 on the pole, reaching 213 A
| discharge CB1
| discharge capacitor CB1
| prove D1 on T9
| disable control of SW1 and tag it\nenable control of SW1\nenable control of SW1
| attach G2 to K1, then to R9
| cut R1
| cut 212
336.4 kcmil acsr => 336.4 kcmil acsr solid
| handle J1 by L1 touching 212
| work "change insulators" by L1 touching A B C
| test A B C
| open 1205
| brief 7
| note lead G1 open
| clearance 7 released by L1
| detach G1 from R1 with L2
"""
USES = r"""
use "parts.tpg"
use "round.tpg"
use "none.tpg"
""" + "".join(f'use "one{n}.tpg"\n' for n in range(200))
FILES = {
    "parts.tpg": "lead G9 2/0 copper 25 ft\nclean 212 A\n",
    "round.tpg": 'use "round.tpg"\n',
    **{f"one{n}.tpg": "" for n in range(200)},
}
DEEP = "routine r0 (structure S)\n  clean S A\n" + "".join(
    f"routine r{n} (structure S)\n" + f"  do r{n - 1} (S)\n" * 9 for n in range(1, 40)
)


def opened(name: str) -> Source | str:
    return Source(name, FILES[name]) if name in FILES else "there is no such file"


def diagnostics(text: str) -> list[Diagnostic]:
    result = read_plan(Source("plan.tpg", text), opened)
    return [*result.diagnostics, *(() if result.plan.unread else replay(result.plan).problems)]


def changed(change: str) -> str:
    change = change.replace("\\n", "\n")
    if change.startswith("| "):
        return f"{PLAN}{change[2:]}\n"
    old, new = change.split(" => ")
    assert PLAN.count(old) == 1, old
    return PLAN.replace(old, new)


def every() -> Iterator[tuple[str, list[Diagnostic]]]:
    """What was changed, and what is said of it."""
    for change in CHANGES.strip().splitlines():
        yield change, diagnostics(changed(change))
    yield "files are used", diagnostics(PLAN + USES)
    yield "no file can be opened", list(read_plan(Source("plan.tpg", PLAN + 'use "parts.tpg"\n')).diagnostics)
    for top in (5, 39):
        yield f"routine r{top} does r{top - 1} nine times, and so on", diagnostics(f"{PLAN}{DEEP}do r{top} (212)\n")
    yield "a value for nothing", list(read_plan(Source("plan.tpg", PLAN), None, {"stretch": "4 ft"}).diagnostics)


def test_the_plan_itself_has_none() -> None:
    assert diagnostics(PLAN) == []


def test_each_message_reads_so_and_none_is_left_out(snapshot: SnapshotAssertion) -> None:
    said, shown, silent = [], set(), []
    for change, found in every():
        shown |= {one.code for one in found}
        silent += [change] * (not found)
        said.append(f"{change}\n{''.join(map(in_words, found[:3]))}")
    assert silent == []
    assert codes() - shown == UNREACHED.keys()
    assert "\n".join(said) == snapshot


def in_words(one: Diagnostic) -> str:
    return f"  {one.code}: {one.message}\n  {'next: ' * bool(one.mend)}{one.mend}\n  at: {one.span.text[:60]!r}\n"


UNREACHED = {"bad-wire-size": "a plan in text has its sizes read before; one in JSON may have any"}
"""Codes that no plan in text comes to, with the reason."""


def codes() -> set[str]:
    """Codes of the messages of declarations, names, files, routines and steps, out of the source."""
    found = set()
    for folder in ("plan", "reading", "steps"):
        for file in Path(groundlint.__file__).parent.joinpath(folder).glob("*.py"):
            for call in ast.walk(ast.parse(file.read_text())):
                if isinstance(call, ast.Call) and call.args:
                    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
                    if name.strip("_") in ("refuse", "mistake", "Diagnostic"):
                        at = 2 if name == "_refuse" and ast.unparse(call.args[0]) == "run" else 0
                        found |= {one.value for one in ast.walk(call.args[at]) if isinstance(one, ast.Constant)}
    return found


def test_a_line_that_was_not_read_is_said_once() -> None:
    """What is said of it below waits for it."""
    found = read_plan(Source(PLAN.replace("line Larkspur", "line Larkspur, 12.47 kV"), "plan.tpg"))
    assert found.plan.unread
    said = [one.code for one in found.diagnostics if one.code in ("unexpected-word", "property-of-nothing")]
    assert said == ["unexpected-word"]

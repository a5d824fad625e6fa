"""The mutants of the deciding code are what they say, and the list of those that survive names none that is gone."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

from operator_mutants import modules, mutants

HERE = Path(__file__).parent
PLANTED = """
import ast, sys
sys.path.insert(0, sys.argv[1])
from operator_mutants import REACHED, PACKAGE, Planted, marked, mutants
from groundlint.facts.answers import any_of  # held by name, as whoever imported it before holds it
path = PACKAGE / "facts" / "answers.py"
planted = Planted()
mine = [one for one in mutants(path) if one.name.split()[1] == "any_of:"]
reached = []
vars(planted.modules[path])[REACHED] = reached.append
planted.plant(path, marked(path, [one.number for one in mine]))
turned = next(one for one in mine if one.name.endswith("condition turned: elif value:"))
print(any_of([True]), turned.number in reached, any_of([]), len(reached) < len(mine))
planted.plant(path, turned.made())
print(any_of([True]))
"""


def test_each_mutant_differs_from_its_module_in_one_line() -> None:
    path = next(one for one in modules() if one.name == "graphs.py")
    before = ast.unparse(ast.parse(path.read_text(encoding="utf-8"))).splitlines()
    found = list(mutants(path))
    assert found
    for mutant in found:
        tree = mutant.made()
        compile(tree, str(path), "exec")
        after = ast.unparse(tree).splitlines()
        assert len(after) == len(before)
        assert sum(one != other for one, other in zip(before, after, strict=True)) == 1, mutant.name


def test_a_mutant_is_what_runs_and_its_place_tells_when_it_is_reached() -> None:
    done = subprocess.run((sys.executable, "-c", PLANTED, str(HERE)), capture_output=True, text=True, check=False)
    assert done.stdout.split() == ["True", "True", "False", "True", "False"], done.stderr


def test_the_survivors_listed_are_mutants_still() -> None:
    names = {one.name for path in modules() for one in mutants(path)}
    text = (HERE / "survivors.txt").read_text(encoding="utf-8")
    assert {line[2:] for line in text.splitlines() if line.startswith("- ")} <= names

"""Whatever a file holds, the command answers with findings and a status, and never with a traceback."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from seeded import OPERATORS, bench, spoiled
from sound_plans import draft, sound_plan

from groundlint.cli import main


@pytest.fixture(scope="module", autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The command keeps its compiled rulebooks in a folder of this test's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        patch.setenv("NO_COLOR", "1")
        yield


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("plans")


def status_of(folder: Path, data: bytes, name: str = "any.tpg") -> int:
    """The command's status on a file of these bytes; an exception fails the test."""
    path = folder / name
    path.write_bytes(data)
    status = main(["review", str(path)])
    assert status in (0, 1, 2, 3)
    return status


KEYWORDS = [
    "plan",
    "line",
    "source",
    "switch",
    "structure",
    "soil",
    "rod",
    "bar",
    "lead",
    "detector",
    "tester",
    "stick",
    "vehicle",
    "crew",
    "routine",
    "stage",
    "brief",
    "open",
    "close",
    "tag",
    "verify",
    "clearance",
    "inspect",
    "prove",
    "test",
    "clean",
    "set",
    "barricade",
    "mount",
    "attach",
    "detach",
    "bond",
    "enter",
    "leave",
    "work",
    "cut",
    "join",
    "lift",
    "restore",
    "hold",
    "do",
    "undo",
    "repeat",
    "use",
    "given",
    "method",
    "no",
    "other",
    "source",
    "fault",
    "6.8",
    "kA",
    "clears",
    "in",
    "24",
    "cycles",
    "to",
    "from",
    "then",
    "by",
    "on",
    "at",
    "and",
    "the",
    "reaching",
    "212",
    "A",
    "B",
    "C",
    "G1..G5",
    "R1",
    "K1",
    "(",
    ")",
    ",",
    "#",
    '"',
    ":",
    "..",
    "1.",
    "2)",
    "given",
    "x",
]
ODD = (
    "\u202e",
    "\u200b",
    "\ufeff",
    "\u0000",
    "\u2028",
    "é",
    "e\u0301",
    "٣",
    "²",
    "𝟚",
    "🧷",
    "\r",
    "\t",
    "\x1b[31m",
    "\ud7ff",
    "ſ",
    "İ",
    "K",
)


def mangled(seed: int) -> bytes:
    """A sound or spoiled plan with its lines, words and bytes knocked about."""
    rng = Random(f"mangled {seed}")
    plan = sound_plan(seed)
    if rng.random() < 0.4:
        plan = spoiled(bench(plan), rng.choice(OPERATORS), rng) or plan
    lines = plan.split("\n")
    for _ in range(rng.randint(1, 12)):
        at = rng.randrange(len(lines))
        words = lines[at].split(" ")
        match rng.randrange(9):
            case 0:
                del lines[at : at + rng.randint(1, 5)]
            case 1:
                lines.insert(rng.randrange(len(lines) + 1), lines[at])
            case 2:
                rng.shuffle(words)
                lines[at] = " ".join(words)
            case 3:
                words.insert(rng.randrange(len(words) + 1), rng.choice(KEYWORDS))
                lines[at] = " ".join(words)
            case 4:
                lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]
            case 5:
                lines[at] += rng.choice(ODD)
            case 6:
                words[rng.randrange(len(words))] = rng.choice(KEYWORDS)
                lines[at] = " ".join(words)
            case 7:
                lines[at] = lines[at].replace(rng.choice("ABCGKR1234 "), rng.choice(("", "9" * 30, ".", "-", *ODD)))
            case _:
                other = rng.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
        if not lines:
            lines = [""]
    data = bytearray("\n".join(lines).encode("utf-8", "surrogatepass"))
    for _ in range(rng.choice((0, 0, 0, 1, 5))):
        if data:
            data[rng.randrange(len(data))] = rng.randrange(256)
    return bytes(data)


@pytest.mark.slow
def test_mangled_plans(folder: Path, seeds: Callable[[int, int], range], capsys: pytest.CaptureFixture[str]) -> None:
    paths = []
    for seed in seeds(6, 400):
        path = folder / f"mangled-{seed}.tpg"
        path.write_bytes(mangled(seed))
        paths.append(str(path))
    status = main(["review", *paths])
    out = capsys.readouterr()
    assert status in (1, 2)
    assert "Traceback" not in out.out + out.err
    for path in paths[::10]:  # some by themselves
        status_of(folder, Path(path).read_bytes())


@given(st.binary(max_size=400))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_random_bytes(folder: Path, data: bytes) -> None:
    assert status_of(folder, data) != 0  # no plan at all is no sound plan


@given(st.lists(st.sampled_from([*KEYWORDS, *ODD, "\n", "\n", "\n  "]), max_size=120))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_random_words(folder: Path, words: list[str]) -> None:
    assert status_of(folder, " ".join(words).encode("utf-8", "surrogatepass")) != 0


def nested(depth: int, width: int) -> str:
    """Routines that do routines, ``depth`` deep, each ``width`` times."""
    rows = ["routine r0 (structure S)", "  test S A B C"]
    for level in range(1, depth + 1):
        rows += [f"routine r{level} (structure S)", *[f"  do r{level - 1} (S)"] * width]
    return "\n".join([*rows, f"do r{depth} (212)"])


HEAD = sound_plan(3) + "\n"
EXTREMES = {
    "empty": b"",
    "a line end": b"\n",
    "zeros": b"\x00" * 1_000,
    "half a character": b'plan "caf\xc3',
    "utf-16": 'plan "x"\n'.encode("utf-16"),
    "one long line": b"attach " + b"G1 " * 300_000,
    "one long word": b"plan " + b"x" * 1_900_000,
    "one long number": b"soil " + b"9" * 100_000 + b" ohm m",
    "one long text": b'work "' + b"x" * 1_900_000 + b'"',
    "open quote": b'plan "' + b"x y z " * 50_000,
    "many commas": b"clean 212 A" + b",\n" * 200_000,
    "many parentheses": b"do x " + b"(" * 100_000,
    "many hashes": b"#" * 1_000_000,
    "wide range": b"lead G1..G999999999999 2/0 copper",
    "many ranges": b"lead " + b"G1..G499 " * 400,
    "a routine that does itself": b"routine a (structure S)\n  do a (S)\ndo a (212)\n",
    "two that do each other": b"routine a\n  do b\nroutine b\n  do a\ndo a\n",
    "deep routines": nested(60, 1).encode(),
    "doubling routines": nested(30, 2).encode(),
    "wide routines": nested(6, 12).encode(),
    "over the limit of size": b"# x\n" * 600_000,
    "a file that uses itself": b'use "any.tpg"\n',
    "a file outside": b'use "../../../../etc/passwd"\n',
    "names of every script": HEAD.replace("A", "Ａ").replace("N", "ℕ").encode(),
    "steps without things": b"detach G1 from 212 A\nleave L1\nundo ground\nrestore G1 to 212 A\nclose S1\n" * 50,
    "numbers without end": b"fault 1e999 kA three-phase\nsoil 0 ohm m\nclears in 0.0000000000001 s\nvoltage -1 kV\n",
}


@pytest.mark.slow
@pytest.mark.parametrize("name", EXTREMES)
def test_extremes(name: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status = status_of(folder, EXTREMES[name])
    out = capsys.readouterr()
    assert status != 0
    assert out.out or out.err
    assert "Traceback" not in out.out + out.err


def tall(steps: int) -> str:
    """A sound plan's things, with steps by the thousand."""
    plan = draft(3)
    rows = [one.words() for one in plan.rows if one.sort != "step"]
    names = plan.about["site"].structures
    return "\n".join([*rows, *(f'note "{at}"\ntest {names[at % len(names)]} A with D1 on H1' for at in range(steps))])


@pytest.mark.slow
@pytest.mark.one_in(5)
def test_a_plan_at_the_limit_of_statements(folder: Path) -> None:
    """In a process of its own, as with users: to collect the garbage of the tests takes longer than the review."""
    path = folder / "tall.tpg"
    path.write_bytes(tall(11_000).encode())
    command = (sys.executable, "-m", "groundlint", "review", str(path))
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 1
    assert done.stderr == ""
    assert "20,000 statements" in done.stdout


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["review"],
        ["review", "no-such-file.tpg"],
        ["nonsense"],
        ["review", "--gate", "x", "y"],
        ["review", "--book", "no-such-book", "x.tpg"],
        ["review", "--given", "novalue", "x.tpg"],
        ["rules", "no-such-rule"],
        ["tidy", "no-such-file.tpg"],
        ["mend", "no-such-file.tpg"],
    ],
)
def test_wrong_usage_is_status_3(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 3
    assert "Traceback" not in capsys.readouterr().err

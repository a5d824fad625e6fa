"""What all tests share: linear algebra of one thread, as the command has it, before numpy is imported; how much is
tried, and from which seed; a browser; the numbers that tests report, printed at the end of the run. Garbage is looked
for seldom, unless much is held: a process that has run some thousand tests holds so much that looking takes longer than
what is tested."""

from __future__ import annotations

import gc
import os
import re
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import settings
from hypothesis.database import DirectoryBasedExampleDatabase

for library in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(library, "1")

gc.set_threshold(100_000, 20, 50)

ROOT = Path(__file__).resolve().parents[1]
LINE = "line of the summary"
NAMES = ("chromium", "chromium-browser", "google-chrome")
MUCH, MORE = 300, 200
"""MB that a process may hold, and may come to hold since garbage was last looked for, until it is looked for again."""
SEEDS_APART = 10_000
"""Seeds between those of one day and the next, so that each day tries others."""

# Nothing is timed, and what is tried moves with the seed below, on a build server too. Only at home is what failed kept
# to be tried again first.
settings.register_profile(
    "house",
    deadline=None,
    derandomize=False,
    print_blob=True,
    database=None if "CI" in os.environ else DirectoryBasedExampleDatabase(ROOT / ".hypothesis" / "examples"),
)
settings.load_profile("house")


def pytest_addoption(parser: pytest.Parser) -> None:
    """How much is tried, and from where."""
    ours = parser.getgroup("groundlint")
    ours.addoption("--long", action="store_true", help="try the whole of what is counted in thousands, not a share")
    ours.addoption("--seed", type=int, metavar="N", help="try from this seed; else from the date of the last commit")
    ours.addoption("--count", type=int, metavar="N", help="try so many of what is made from seeds, whatever the share")


def date_of_last_commit() -> int:
    """As yyyymmdd; a fixed one where there is no history."""
    command = ("git", "log", "-1", "--format=%cd", "--date=format:%Y%m%d")
    try:
        return int(subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout)
    except (OSError, subprocess.CalledProcessError, ValueError):
        return 20260101


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Of tests marked ``one_in(n)`` one of n is run, others each day; with ``--long``, or named one by one, all."""
    if config.option.long or any("::" in argument for argument in config.args):
        return
    left = []
    for item in items:
        mark = item.get_closest_marker("one_in")
        if mark is not None and Random(f"{config.option.seed} {item.nodeid}").randrange(mark.args[0]):
            left.append(item)
    config.hook.pytest_deselected(items=left)
    gone = set(left)
    items[:] = [item for item in items if item not in gone]


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Settles the seed before hypothesis takes it, and before it is handed on to the other processes."""
    if config.option.seed is None:
        config.option.seed = date_of_last_commit()
    if getattr(config.option, "hypothesis_seed", None) is None:
        config.option.hypothesis_seed = str(config.option.seed)


def held() -> float:
    """MB that this process holds now; 0 where the system does not say."""
    try:
        return int(Path("/proc/self/statm").read_text("ascii").split()[1]) * resource.getpagesize() / 1e6
    except OSError:
        return 0


left = [MUCH]
"""MB that stayed when garbage was last looked for."""


def pytest_runtest_teardown() -> None:
    """A review refers to itself, so that it stays until garbage is looked for: that is done when much has come on."""
    if held() > left[0] + MORE:
        gc.collect()
        left[0] = max(MUCH, held())


@pytest.fixture(scope="session", autouse=True)
def day_of_the_run() -> Iterator[None]:
    """The commands hold waivers against one day, so that those of the examples don't end under the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("groundlint.commands.common.today", lambda: date(2026, 6, 30))
        yield


@pytest.fixture(scope="session", autouse=True)
def kept_in(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The folder in which the processes of one run share grammars, solved circuits and byte code, and that goes with
    it."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "kept"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("groundlint.commands.common.users_cache", lambda: folder)
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        patch.setenv("PYTHONPYCACHEPREFIX", str(folder / "bytecode"))
        yield folder


def pytest_collection_finish() -> None:
    """The tests themselves stay to the end: who looks for what can go need not look at them again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="module", autouse=True)
def nothing_is_kept(request: pytest.FixtureRequest, kept_in: Path) -> Iterator[None]:
    """What a file of tests keeps for its own tests goes with it, so that a process holds the reviews of one file."""
    from groundlint.text.store import keep_in

    keep_in(kept_in)
    yield
    for kept in vars(request.module).values():
        if hasattr(kept, "cache_clear") and kept.__module__ == request.module.__name__:
            kept.cache_clear()
    gc.collect()


@pytest.fixture(scope="session")
def daily_seed(pytestconfig: pytest.Config) -> int:
    """``--seed``, else the date of the last commit."""
    return int(pytestconfig.option.seed)


@pytest.fixture(scope="session")
def long(pytestconfig: pytest.Config) -> bool:
    """Whether the whole is asked for, not a share."""
    return bool(pytestconfig.option.long)


@pytest.fixture(scope="session")
def how_many(pytestconfig: pytest.Config, long: bool) -> Callable[[int, int], int]:
    """``how_many(share, whole)`` is the one asked for; ``--count`` goes before both."""
    count: int | None = pytestconfig.option.count
    return lambda share, whole: count if count is not None else whole if long else share


@pytest.fixture(scope="session")
def seeds(daily_seed: int, how_many: Callable[[int, int], int]) -> Callable[[int, int], range]:
    """``seeds(share, whole)`` are that many seeds of this day."""
    first = daily_seed * SEEDS_APART
    return lambda share, whole: range(first, first + how_many(share, whole))


@pytest.fixture(scope="session")
def committed() -> list[Path]:
    """The files of the project: those that git keeps, whatever else lies in the folder; without git, none that is
    hidden, built, or in an environment."""
    try:
        listing = subprocess.run(("git", "ls-files", "-z"), cwd=ROOT, capture_output=True, text=True, check=True)
        files = [ROOT / name for name in listing.stdout.split("\0") if name]
    except (OSError, subprocess.CalledProcessError):
        passed_over = re.compile(r"(^|/)(\.(?!ci/|gitignore|pre-commit)|__pycache__|site-packages|build/|dist/)")
        files = [path for path in ROOT.rglob("*") if not passed_over.search(path.relative_to(ROOT).as_posix())]
    return sorted(path for path in files if path.is_file())


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """A headless browser; the tests that need it say so where there is none. Its library keeps an event loop running,
    which other tests want to start for themselves, so that it ends with each file."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def libreoffice(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., None]:
    """Makes of every Word document of a folder its text, or another form, beside it: all in one call, since it takes
    seconds to start. The tests that need it say so where there is none."""
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("no LibreOffice on this machine")
    home = tmp_path_factory.mktemp("libreoffice")

    def convert(folder: Path, form: str = "txt:Text (encoded):UTF8") -> None:
        command = [program, f"-env:UserInstallation={home.as_uri()}", "--headless", "--convert-to", form, "--outdir"]
        files = [str(path) for path in sorted(folder.glob("*.docx"))]
        subprocess.run([*command, str(folder), *files], check=True, capture_output=True)

    return convert


@pytest.fixture
def report(record_property: Callable[[str, object], None]) -> Callable[[str], None]:
    """Takes a line that is printed at the end of the run, by whatever process ran the test."""
    return lambda line: record_property(LINE, line)


@pytest.fixture(scope="session")
def calls() -> Callable[[Callable[[], object]], int]:
    """Counts the calls, of Python and of C, that something makes: what it costs, on however busy a machine. What a
    single call of C does within itself is not seen; `tests/bench/` measures that."""

    def count(work: Callable[[], object]) -> int:
        counts = {"call": 0, "c_call": 0}

        def seen(_frame: object, event: str, _what: object) -> None:
            if event in counts:
                counts[event] += 1

        before = sys.getprofile()
        sys.setprofile(seen)
        try:
            work()
        finally:
            sys.setprofile(before)
        return sum(counts.values())

    return count


def cost() -> tuple[float, float]:
    """Most memory that this process held, in MB, and its processor time with its children's, in s."""
    mine, others = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return mine.ru_maxrss / unit, mine.ru_utime + mine.ru_stime + others.ru_utime + others.ru_stime


COSTS: list[tuple[float, float]] = []


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Each process says what it took."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["cost"] = cost()
    elif not COSTS:
        COSTS.append(cost())


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """A process of the run is done."""
    COSTS.extend([tuple(node.workeroutput["cost"])] if hasattr(node, "workeroutput") else [])


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """The lines that tests reported."""
    done = [one for outcome in ("passed", "failed") for one in terminalreporter.stats.get(outcome, ())]
    lines = [str(value) for one in done for name, value in one.user_properties if name == LINE]
    terminalreporter.section("numbers")
    for line in lines:
        terminalreporter.write_line(line)
    terminalreporter.write_line(f"tried from seed {config.option.seed}; again by --seed {config.option.seed}")
    held = ", ".join(f"{most:.0f} MB and {took:.0f} s of processor time" for most, took in COSTS)
    terminalreporter.write_line(f"each process took {held}")

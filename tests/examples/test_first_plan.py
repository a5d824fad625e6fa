"""The page for writers: its commands are run as it gives them, its texts are written where it says."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from groundlint.cli import main

PAGE = Path(__file__).resolve().parents[2] / "examples" / "first-plan" / "README.md"
BLOCK = re.compile(r"^```(console|text)\n(.*?)^```\n", re.MULTILINE | re.DOTALL)
PLACE = re.compile(
    r"^(Instead of all that stands above|Instead of .*step.*|Below)(?: `([^`]+)`)?.*:\n\n\Z", re.MULTILINE
)


def written(plan: str, where: str, line: str, text: str) -> str:
    """The plan with a text of the page, put where the page says."""
    if where == "Below":
        assert plan.count(f"{line}\n") == 1
        return plan.replace(f"{line}\n", f"{line}\n{text}")
    if where.endswith("above"):
        return text + "\n" + plan[plan.index(line) :]
    for step in text.splitlines(keepends=True):
        number = re.match(r" *\d+\. ", step)
        assert number is not None
        plan, times = re.subn(rf"^ *{number[0].strip()} .*\n", step, plan, flags=re.MULTILINE)
        assert times == 1
    return plan


def printed(shown: str, out: str) -> bool:
    """Whether this was printed; a line of three dots stands for any lines, three dots in a line for any words."""
    pattern = "".join(
        r"(?:.*\n)*?" if line == "..." else re.escape(line).replace(re.escape("..."), ".*") + r"\n"
        for line in shown.splitlines()
    )
    return re.fullmatch(pattern, out) is not None


def test_the_page_does_what_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    page, job, statuses = PAGE.read_text("utf-8"), tmp_path / "job.tpg", []
    for block in BLOCK.finditer(page):
        if block[1] == "text":
            place = PLACE.search(page[: block.start()])
            assert place is not None, block[2]
            job.write_text(written(job.read_text("utf-8"), place[1], place[2] or "", block[2]), encoding="utf-8")
            continue
        for command, shown in re.findall(r"^\$ groundlint (.*)\n((?:(?!\$ ).*\n)*)", block[2], re.MULTILINE):
            statuses.append(main(shlex.split(command)))
            streams = capsys.readouterr()
            assert printed(shown, streams.out or streams.err), (command, streams.out, streams.err)
    assert statuses == [0, 2, 2, 0, 0, 1, 0]
    assert (tmp_path / "crew.html").stat().st_size

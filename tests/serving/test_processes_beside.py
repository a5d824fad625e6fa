"""The processes that review: ended in the middle, failing, and started again; and the command without its library."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from pathlib import Path

import pytest

from groundlint.commands.serve import ServingDesk
from groundlint.serving.document import Document
from groundlint.serving.jobs import Clerk, Reviewed, Text
from groundlint.serving.reviews import Reviews
from groundlint.serving.worker import FaultError, GoneError, Worker

TEXT = Text("plan.tpg", None, "line Larkspur\n", {})
CIRCUIT = Path(__file__).resolve().parents[2] / "examples" / "single-point-insulator.tpg"


def desk(kept_in: Path, *books: str) -> ServingDesk:
    return ServingDesk(books or ("practice",), (), None, kept_in)


def test_a_process_that_is_ended_is_started_again(kept_in: Path) -> None:
    async def life() -> None:
        worker = Worker(desk(kept_in))
        with pytest.raises(FaultError, match="AttributeError"):
            await worker.ask("no-such-job")
        first = asyncio.ensure_future(worker.ask("first", TEXT))
        while not worker.busy_with:
            await asyncio.sleep(0.01)
        worker.end()
        with pytest.raises(GoneError):
            await first
        given_up = asyncio.ensure_future(worker.ask("first", TEXT))
        await asyncio.sleep(0)
        given_up.cancel()  # the next answer is not taken for its
        reviewed = await worker.ask("first", TEXT)
        assert isinstance(reviewed, Reviewed)
        assert reviewed.findings
        worker.end()

    asyncio.run(life())


def test_the_first_review_asks_what_takes_no_circuit_and_the_whole_one_all(kept_in: Path) -> None:
    clerk = Clerk(desk(kept_in, "practice", "electrical"))
    text = Text("plan.tpg", None, CIRCUIT.read_text().replace("1/0", "6 AWG"), {})
    first, whole = clerk.first(text), clerk.whole(text)
    assert first.later
    assert not whole.later
    early = {(one.rule, one.place, one.message) for one in first.findings}
    late = {(one.rule, one.place, one.message) for one in whole.findings}
    assert early < late


def test_settings_that_cannot_be_used_are_said(kept_in: Path, tmp_path: Path) -> None:
    (tmp_path / "groundlint.toml").write_text("books = 3\n")
    said = Clerk(ServingDesk((), (), None, kept_in)).first(Text("a", tmp_path / "a.tpg", "", {}))
    assert said.failure
    assert said.problems[0].name.endswith("groundlint.toml")


def test_where_the_library_is_missing_one_line_says_what_to_install() -> None:
    code = "import sys; sys.modules['pygls'] = None; from groundlint.cli import main; sys.exit(main(['serve']))"
    run = subprocess.run((sys.executable, "-c", code), capture_output=True, text=True, check=False, input="")
    assert run.returncode == 3
    assert (
        run.stderr == "groundlint: serve: the language server needs one more library: pip install 'groundlint[serve]'\n"
    )


class Saying:
    """A process that gives one answer."""

    busy_with = ()

    def __init__(self, answer: object) -> None:
        self.answer = answer

    async def ask(self, *_: object) -> object:
        if isinstance(self.answer, Exception):
            raise self.answer
        return self.answer


def test_what_fails_is_shown_and_stops_nothing() -> None:
    async def shown_for(first: object, whole: object) -> list[str]:
        shown: list[list[str]] = []
        documents = {"u:a.tpg": Document("u:a.tpg", "tpg", 1, "x", len)}
        reviews = Reviews(
            desk(Path()), documents, lambda _, found: shown.append([one.message for one in found]), lambda: None
        )
        reviews.quick, reviews.slow = Saying(first), Saying(whole)  # type: ignore[assignment]
        reviews.want("u:a.tpg")
        while len(shown) < (1 if whole is None else 2):
            await asyncio.sleep(0.01)
        return [" ".join(messages) for messages in shown]

    waiting = Reviewed(unread=False, later=2)
    assert asyncio.run(shown_for(Reviewed(unread=False), None)) == [""]
    early, late = asyncio.run(shown_for(waiting, Reviewed(unread=False)))
    assert ("2 rules not asked yet" in early, late) == (True, "")
    assert "not reviewed" in asyncio.run(shown_for(waiting, FaultError("boom")))[1]
    for fault in (FaultError("boom"), GoneError(), None, Reviewed(findings=("bad",))):  # type: ignore[arg-type]
        assert "not reviewed" in asyncio.run(shown_for(fault, None))[0]

"""One server, a real process, and one page in a real browser for a file of tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from desk_at_work import EXAMPLE, Running, Sheet


@pytest.fixture(scope="module")
def desk(kept_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A server for a copy of an example."""
    cache = tmp_path_factory.mktemp("cache")
    kept_in.mkdir(parents=True, exist_ok=True)
    (cache / "groundlint").symlink_to(kept_in)
    plan = tmp_path_factory.mktemp("plans") / "Plan of the day.tpg"
    plan.write_bytes(EXAMPLE.read_bytes())
    running = Running(plan, {**os.environ, "XDG_CACHE_HOME": str(cache)})
    yield running
    if running.process.returncode is None:
        assert running.end() == (0, "")


@pytest.fixture(scope="module")
def asked_for() -> list[str]:
    """All that the browser asked for or complained of."""
    return []


@pytest.fixture(scope="module")
def sheet(chromium: Any, desk: Running, asked_for: list[str]) -> Iterator[Sheet]:
    """The page, opened by the address that was printed."""
    context = chromium.new_context(viewport={"width": 1400, "height": 900})
    context.on("request", lambda request: asked_for.append(request.url))
    context.on("console", lambda message: asked_for.append(f"console: {message.text}"))
    context.on("weberror", lambda error: asked_for.append(f"error: {error.error}"))
    page = context.new_page()
    page.on("websocket", lambda socket: asked_for.append(socket.url))
    page.goto(desk.address)
    sheet = Sheet(page, desk.plan)
    sheet.reviewed()
    yield sheet
    page.close()
    context.close()

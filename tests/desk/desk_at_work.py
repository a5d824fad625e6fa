"""A server at work and its page, for tests."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

EXAMPLE = Path(__file__).resolve().parents[2] / "examples/single-point-insulator.tpg"
HANGS = 300_000
"""Milliseconds after which a page on which nothing happens is taken for dead, so that the run ends."""


class Running:
    """A server at work: its plan, the address that it printed, and requests as any program of the machine makes."""

    def __init__(self, plan: Path, env: dict[str, str]) -> None:
        self.plan = plan
        command = [sys.executable, "-m", "groundlint", "desk", "--no-browser", "--as-of", "2026-06-30", plan.name]
        self.process = subprocess.Popen(
            command,
            cwd=plan.parent,
            env=env,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),  # background jobs ignore it
        )
        assert self.process.stdout is not None
        self.said = self.process.stdout.readline()
        self.address = self.process.stdout.readline().strip()

    @property
    def origin(self) -> str:
        return self.address.partition("/?")[0]

    @property
    def port(self) -> int:
        return urlsplit(self.address).port or 0

    def asked(self, path: str, method: str = "GET", **headers: str) -> HTTPResponse:
        """The answer to a request; ``Host`` is the server's own unless another is given."""
        connection = HTTPConnection(urlsplit(self.address).hostname or "", self.port)
        connection.putrequest(method, path, skip_host="Host" in headers)
        for name, value in headers.items():
            connection.putheader(name.replace("_", "-"), value)
        connection.endheaders()
        return connection.getresponse()

    def end(self) -> tuple[int, str]:
        """Ends it as a person would: the status, and what it complained of."""
        self.process.send_signal(signal.SIGINT)
        _, errors = self.process.communicate(timeout=HANGS / 1000)
        return self.process.returncode, errors


class Sheet:
    """The page, as a person has it before them."""

    def __init__(self, page: Any, plan: Path) -> None:
        self.page = page
        self.plan = plan
        page.set_default_timeout(HANGS)

    def reviewed(self) -> None:
        """Waits until the whole review of the text as it stands is shown."""
        self.page.wait_for_selector("#side:not(.stale) #status:not(.waiting)")

    def until(self, so: Callable[[], bool]) -> None:
        """Waits until something is so."""
        for _ in range(HANGS // 50):
            if so():
                return
            self.page.wait_for_timeout(50)
        raise AssertionError("nothing happens")

    def write(self, text: str) -> None:
        """Puts another text in the place of the whole."""
        self.page.evaluate("text => monaco.editor.getEditors()[0].setValue(text)", text)
        self.reviewed()

    def go(self, line: int, column: int = 1) -> None:
        """Puts the cursor somewhere."""
        self.page.evaluate(
            "([lineNumber, column]) => { const one = monaco.editor.getEditors()[0]; one.focus();"
            " one.setPosition({lineNumber, column}); one.revealLine(lineNumber); }",
            [line, column],
        )

    @property
    def text(self) -> str:
        found: str = self.page.evaluate("monaco.editor.getModels()[0].getValue()")
        return found

    def said(self, name: str) -> str:
        """The words of a part of the page."""
        found: str = self.page.inner_text(f"#{name}")
        return found

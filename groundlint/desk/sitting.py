"""The page served: a port of this machine, the file behind it, and one browser that speaks to a language server."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from websockets.asyncio.server import ServerConnection, serve
from websockets.exceptions import ConnectionClosed
from websockets.http11 import Request, Response

from groundlint.desk.doors import HOST, Doors
from groundlint.desk.plan_file import NotOpenedError, PlanFile
from groundlint.report.closing import CAUTION
from groundlint.serving.document import MARKDOWN, uri_of
from groundlint.serving.jobs import Desk
from groundlint.serving.server import Server
from groundlint.text.files import reason

if TYPE_CHECKING:
    from websockets.typing import LoggerLike

MOST = 16_000_000
"""Bytes of one message: a plan of the greatest length, with every character written as its code."""
ELSEWHERE = 4001
"""Said to a page where another has been opened in its place."""


class _Line:
    """A connection on which nothing is said any more once the page has gone."""

    def __init__(self, connection: ServerConnection) -> None:
        self.recv = connection.recv
        self.close = connection.close
        self._send = connection.send

    async def send(self, data: bytes) -> None:
        with contextlib.suppress(ConnectionClosed):
            await self._send(data, text=True)


class Sitting:
    """One plan at one port, until it is ended. One page speaks at a time, so that no two write the same file."""

    def __init__(self, file: PlanFile, desk: Desk, version: str, logger: LoggerLike) -> None:
        self.file = file
        self.desk = desk
        self.version = version
        self.logger = logger
        self._speaking: ServerConnection | None = None

    async def run(self, door: socket.socket, editor: Path, opened: Callable[[str], None]) -> None:
        """Serves a socket that listens until it is cancelled. ``opened`` gets the address to open."""
        doors = Doors(door.getsockname()[1], editor)

        def answered(_: ServerConnection, request: Request) -> Response | None:
            return doors.answer(request)

        def secured(_: ServerConnection, __: Request, response: Response) -> Response:
            return doors.secured(response)

        async with serve(
            self._speak,
            sock=door,
            origins=[doors.origin],  # type: ignore[list-item]
            process_request=answered,
            process_response=secured,
            server_header=None,
            max_size=MOST,
            compression=None,
            logger=self.logger,
        ):
            opened(doors.address)
            await asyncio.get_running_loop().create_future()

    async def _speak(self, connection: ServerConnection) -> None:
        before, self._speaking = self._speaking, connection
        if before is not None:
            await before.close(ELSEWHERE, "the page was opened again elsewhere")
        server = Server(self.desk, self.version)
        self._file_of(server)
        try:
            await server.talk(_Line(connection))
        finally:
            if self._speaking is connection:
                self._speaking = None

    def _file_of(self, server: Server) -> None:
        """The methods by which the page gets and gives its file."""

        @server.lsp.feature("groundlint/load")
        def load(_: Any) -> dict[str, str]:
            """The file and what is said under it; ``failure`` why it can't be shown."""
            path = self.file.path
            try:
                loaded = self.file.load()
            except NotOpenedError as error:
                return {"failure": str(error)}
            return {
                "uri": uri_of(str(path)),
                "name": path.name,
                "language": "markdown" if path.suffix.lower() in MARKDOWN else "plan",
                "text": loaded.text,
                "seen": loaded.seen,
                "caution": " ".join(CAUTION.split()),
            }

        @server.lsp.feature("groundlint/save")
        def save(params: Any) -> dict[str, str]:
            """``seen`` is the file as written; ``changed`` as somebody else has left it; ``failure`` why neither."""
            try:
                saved = self.file.save(params.text, params.seen)
                return {"seen": saved.seen} if saved is not None else {"changed": self.file.seen()}
            except (OSError, UnicodeError) as error:
                return {"failure": reason(error)}


def listening(port: int) -> socket.socket:
    """A socket of this machine alone; port 0 is any that is free. Raises `OSError`."""
    return socket.create_server((HOST, port))

"""What may come in from a browser, and what it is given: one page of this machine, and nobody else's."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from importlib.resources import files
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from websockets.datastructures import Headers
from websockets.http11 import Request, Response

from groundlint.report.brief.drawing import style

HOST = "127.0.0.1"
"""The only address that is listened at: this machine's own."""
TALK = "/talk"
"""Where the page speaks to the language server."""
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".ttf": "font/ttf",
}
"""The kinds of file that are given out, by their names' endings."""


@dataclass
class Doors:
    """Who is let in at a port, and to what. ``editor`` is the folder of the editor component.

    The address that is opened holds a token, which is good once; who brings it gets a cookie that no script can read
    and no other site's page sends. Whatever comes names this machine as its host, and no other page as its origin.
    """

    port: int
    editor: Path
    _token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _pass: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _used: bool = False

    @property
    def origin(self) -> str:
        """The page's own origin."""
        return f"http://{HOST}:{self.port}"

    @property
    def address(self) -> str:
        """The address to open, good once."""
        return f"{self.origin}/?token={self._token}"

    @property
    def cookie(self) -> str:
        """The cookie's name: cookies of all ports of a machine are kept together."""
        return f"groundlint-{self.port}"

    def answer(self, request: Request) -> Response | None:
        """What a request gets; None is let in to speak."""
        path = urlsplit(request.path)
        if request.method != "GET":
            return _refused(HTTPStatus.METHOD_NOT_ALLOWED, "this server answers GET alone")
        if request.headers.get_all("Host") != [f"{HOST}:{self.port}"]:
            return _refused(HTTPStatus.FORBIDDEN, "this server answers under its own address alone")
        origins = request.headers.get_all("Origin")
        if origins not in ([], [self.origin]):
            return _refused(HTTPStatus.FORBIDDEN, "another page may ask for nothing here")
        tokens = parse_qs(path.query).get("token", [])
        if path.path == "/" and tokens:
            return self._exchanged(tokens)
        if not self._knows(request):
            return _refused(HTTPStatus.FORBIDDEN, "open the address that `groundlint desk` has printed")
        if path.path == TALK:
            return None if origins else _refused(HTTPStatus.FORBIDDEN, "only the page may speak here")
        found = self._files.get(path.path)
        if found is None:
            return _refused(HTTPStatus.NOT_FOUND, "there is nothing here")
        kind, content = found
        return _response(HTTPStatus.OK, content if isinstance(content, bytes) else content.read_bytes(), TYPES[kind])

    def secured(self, response: Response) -> Response:
        """An answer with what a browser is to hold to: nothing from elsewhere, nothing in a frame, nothing kept."""
        response.headers["Content-Security-Policy"] = "; ".join(
            (
                "default-src 'none'",
                "script-src 'self'",
                "style-src 'self' 'unsafe-inline'",  # the editor places its lines by it
                "font-src 'self' data:",
                "img-src 'self' data:",
                "worker-src 'self'",
                f"connect-src ws://{HOST}:{self.port}",
                "base-uri 'none'",
                "form-action 'none'",
                "frame-ancestors 'none'",
                "require-trusted-types-for 'script'",  # no text becomes markup but by the editor's own makers of it
            )
        )
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["X-Frame-Options"] = "DENY"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Cache-Control"] = "no-store"
        return response

    def _exchanged(self, tokens: list[str]) -> Response:
        """The cookie for the token, once."""
        if self._used or len(tokens) != 1 or not secrets.compare_digest(tokens[0].encode(), self._token.encode()):
            words = "this address was opened before, or is another's; end `groundlint desk` and start it again"
            return _refused(HTTPStatus.FORBIDDEN, words)
        self._used = True
        response = _response(HTTPStatus.SEE_OTHER, b"", TYPES[".html"])
        response.headers["Location"] = "/"
        response.headers["Set-Cookie"] = f"{self.cookie}={self._pass}; HttpOnly; SameSite=Strict; Path=/"
        return response

    def _knows(self, request: Request) -> bool:
        try:
            cookies = SimpleCookie("; ".join(request.headers.get_all("Cookie")))
        except CookieError:
            return False
        found = cookies.get(self.cookie)
        return found is not None and secrets.compare_digest(found.value.encode(), self._pass.encode())

    @cached_property
    def _files(self) -> dict[str, tuple[str, bytes | Path]]:
        """All that is given out, by path: what is not listed is not there."""
        return dict(self._listed())

    def _listed(self) -> Iterator[tuple[str, tuple[str, bytes | Path]]]:
        own = files("groundlint.desk") / "page"
        yield "/", (".html", (own / "desk.html").read_bytes())
        for name in ("desk.js", "desk.css"):
            yield f"/{name}", (Path(name).suffix, (own / name).read_bytes())
        for name in ("colours", "drawing"):
            yield f"/{name}.css", (".css", style(name).encode())
        for path in sorted(self.editor.rglob("*")):
            if path.suffix in TYPES and path.is_file():
                yield f"/vs/{path.relative_to(self.editor).as_posix()}", (path.suffix, path)
                if path.name.startswith("editor.worker"):  # its name has a digest in it
                    yield "/editor.worker.js", (path.suffix, path)


def _refused(status: HTTPStatus, words: str) -> Response:
    return _response(status, f"groundlint desk: {words}\n".encode(), "text/plain; charset=utf-8")


def _response(status: HTTPStatus, body: bytes, kind: str) -> Response:
    headers = Headers({"Content-Type": kind, "Content-Length": str(len(body)), "Connection": "close"})
    return Response(status.value, status.phrase, headers, body)

"""Who is let in: what any program of the machine, or another page, could send."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from desk_at_work import Running
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

SECURED = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


@pytest.fixture(scope="module")
def cookie(desk: Running) -> str:
    """The cookie that the token is exchanged for."""
    there = urlsplit(desk.address)
    answer = desk.asked(f"/?{there.query}")
    assert (answer.status, answer.headers["Location"]) == (303, "/")
    cookie, *limits = answer.headers["Set-Cookie"].split("; ")
    assert set(limits) == {"HttpOnly", "SameSite=Strict", "Path=/"}
    assert there.query not in cookie
    return cookie


def test_it_listens_at_this_machine_alone_and_says_where(desk: Running) -> None:
    assert urlsplit(desk.address).hostname == "127.0.0.1"
    assert desk.said == "Plan of the day.tpg is open at\n"


def test_the_page_is_given_to_the_cookie_alone(desk: Running, cookie: str) -> None:
    assert desk.asked("/", Cookie=cookie).status == 200
    name, _, value = cookie.partition("=")
    for headers in ({}, {"Cookie": f"{name}=other"}, {"Cookie": f"other={value}"}, {"Cookie": "\\x00;=;"}):
        for path in ("/", "/desk.js", "/vs/loader.js", "/nothing"):
            assert desk.asked(path, **headers).status == 403


def test_a_token_is_good_once(desk: Running, cookie: str) -> None:
    query = urlsplit(desk.address).query
    for again in (query, "token=", "token=other", f"{query}&{query}"):
        answer = desk.asked(f"/?{again}")
        assert answer.status == 403
        assert answer.headers["Set-Cookie"] is None
        assert "start it again" in answer.read().decode() or again == "token="


@pytest.mark.parametrize(
    "host", ["localhost:{port}", "elsewhere.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:{port}@x", ""]
)
def test_another_host_is_refused(desk: Running, cookie: str, host: str) -> None:
    """A name that somebody has made to mean this machine is not its own."""
    assert desk.asked("/", Host=host.format(port=desk.port), Cookie=cookie).status == 403


@pytest.mark.parametrize("origin", ["null", "http://elsewhere.example", "{ours}:1", "{ours}.example", ""])
def test_another_origin_is_refused(desk: Running, cookie: str, origin: str) -> None:
    theirs = origin.format(port=desk.port, ours=desk.origin)
    assert desk.asked("/", Origin=theirs, Cookie=cookie).status == 403
    assert desk.asked("/", Origin=desk.origin, Cookie=cookie).status == 200


def test_the_way_to_the_server_wants_both_the_cookie_and_the_origin(desk: Running, cookie: str) -> None:
    place = f"ws{desk.origin.removeprefix('http')}/talk"
    for origin, headers in (
        (desk.origin, {}),
        (None, {"Cookie": cookie}),
        ("http://elsewhere.example", {"Cookie": cookie}),
        (desk.origin, {"Cookie": cookie + "x"}),
    ):
        with pytest.raises(InvalidStatus) as refused:
            connect(place, origin=origin, additional_headers=headers)  # type: ignore[arg-type]
        assert refused.value.response.status_code == 403
    for path in ("/", "/desk.js"):
        with pytest.raises(InvalidStatus) as refused:
            connect(place.replace("/talk", path), origin=desk.origin, additional_headers={"Cookie": cookie})  # type: ignore[arg-type]
        assert refused.value.response.status_code == 200, "what is no way to the server stays what it is"


@pytest.mark.parametrize("method", ["POST", "PUT", "HEAD", "OPTIONS"])
def test_nothing_but_get_is_answered(desk: Running, cookie: str, method: str) -> None:
    assert desk.asked("/", method, Cookie=cookie).status == 405


@pytest.mark.parametrize(
    "path", ["/vs/../desk.html", "/vs/%2e%2e/__init__.py", "//etc/passwd", "/desk.html", "/vs/", "/talk/x"]
)
def test_what_is_not_listed_is_not_there(desk: Running, cookie: str, path: str) -> None:
    assert desk.asked(path, Cookie=cookie).status == 404


def test_every_answer_is_secured(desk: Running, cookie: str) -> None:
    for path, headers in (
        ("/", {"Cookie": cookie}),
        ("/", {}),
        ("/nothing", {"Cookie": cookie}),
        ("/vs/loader.js", {"Cookie": cookie}),
    ):
        answer = desk.asked(path, **headers)
        assert SECURED.items() <= dict(answer.headers).items()
        policy = dict(part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; "))
        assert policy["default-src"] == "'none'"
        assert policy["script-src"] == "'self'"
        assert policy["connect-src"] == f"ws{desk.origin.removeprefix('http')}"
        assert answer.headers["Server"] is None


def test_the_page_holds_nothing_of_the_plan_and_no_script_of_its_own(desk: Running, cookie: str) -> None:
    page = desk.asked("/", Cookie=cookie).read().decode()
    assert "OS07" not in page
    assert "<script>" not in page
    assert "://" not in page
    assert desk.plan.name not in page
    assert Path(desk.plan).exists()

"""An editor waits for an answer to every request, whatever is wrong with it: messages as bytes, in a real process."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from typing import Any

NOT_OPEN, NOT_UNDERSTOOD, ENDED = -32602, -32602, -32600


def framed(*bodies: dict[str, Any]) -> bytes:
    texts = [json.dumps({"jsonrpc": "2.0", **body}).encode() for body in bodies]
    return b"".join(b"Content-Length: %d\r\n\r\n%b" % (len(text), text) for text in texts)


def asked(number: int, method: str, params: Any) -> dict[str, Any]:
    return {"id": number, "method": method, "params": params}


def test_what_cannot_be_understood_and_what_comes_after_the_end_is_answered() -> None:
    place = {"textDocument": {"uri": "file:///plan.tpg"}, "position": {"line": 0, "character": 0}}
    said = framed(
        asked(1, "initialize", {"processId": None, "rootUri": None, "capabilities": {}}),
        {"method": "initialized", "params": {}},
        asked(2, "textDocument/hover", place),
        asked(3, "textDocument/hover", {"position": "here"}),
        {"id": 4, "method": "textDocument/completion"},
        {"method": "textDocument/didOpen", "params": {"textDocument": 7}},
    )
    said += b"Content-Length: 5\r\n\r\n{odd}Content-Length: 2\r\n\r\n[]"
    said += framed({"id": 5, "method": "shutdown"}, asked(6, "textDocument/hover", place), {"method": "exit"})
    server = [sys.executable, "-m", "groundlint", "serve", "--no-cache", "--book", "practice"]
    run = subprocess.run(server, input=said, capture_output=True, check=False)
    assert run.returncode == 0
    answers = {
        one["id"]: one
        for text in re.split(rb"Content-Length: .*?\r\n\r\n", run.stdout, flags=re.DOTALL)[1:]
        if "method" not in (one := json.loads(text))
    }
    codes = {number: one.get("error", {}).get("code") for number, one in answers.items()}
    assert codes == {1: None, 2: NOT_OPEN, 3: NOT_UNDERSTOOD, 4: NOT_UNDERSTOOD, 5: None, 6: ENDED}

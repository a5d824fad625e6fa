"""Canonical layout of what a source holds: of a plan, or of each fenced part of one in a Markdown procedure."""

from __future__ import annotations

import re

from groundlint.language.reader import Read, in_markdown, read_statements
from groundlint.language.writer import write_plan
from groundlint.text import Source


def laid_out(source: Source, read: Read) -> str:
    """The text of a source that was read without a problem, in canonical layout, its lines ended as they were.

    All that is no plan in a Markdown procedure stays as it is, and so does a fence that can't be read by itself. Where
    the procedure would read otherwise, nothing is changed.
    """
    if not in_markdown(source):
        return write_plan(read.text).replace("\n", "\r\n" if "\r\n" in source.text else "\n")
    from groundlint.text.markdown import find_fences, mask

    text, pieces, at = source.text, [], 0
    for fence in find_fences(text):
        part = mask(text[: fence.end], [fence])[fence.start :]
        alone = read_statements(Source("fence.tpg", re.sub(f"(?m)^ {{0,{fence.indent}}}", "", part)))
        if alone.diagnostics:
            continue
        before = re.match(r"[^`~]*", text[fence.opening :])
        assert before is not None
        margin = re.sub(r"[^>\s]", " ", before[0])  # a list's marker stands on the first line alone
        ends = "\r\n" if "\r\n" in part else "\n"
        lines = write_plan(alone.text).splitlines()
        pieces += [
            text[at : fence.start],
            *(f"{margin}{line}".rstrip() + ends for line in lines),
        ]
        at = fence.end
    made = "".join([*pieces, text[at:]])
    again = read_statements(Source(source.name, made))
    same = not again.diagnostics and write_plan(again.text) == write_plan(read.text)
    return made if same else text

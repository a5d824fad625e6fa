"""Fenced plans in Markdown: cases to read, and block structure held against markdown-it on random documents."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import example, given, reject, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from groundlint.text.markdown import Fence, find_fences, mask, unmarked_fences

JUDGE = MarkdownIt("commonmark")


def plans(text: str) -> list[str]:
    """The plans of a document, each without its indentation."""
    found = []
    for fence in find_fences(text):
        lines = mask(text, [fence])[fence.start : fence.end].splitlines()
        found.append("\n".join(line.strip(" \t") for line in lines))
    return found


def bare(text: str) -> list[str]:
    """Lines without indentation; without the blank ones at the end, which the judge does not keep."""
    return [line.strip(" \t\r") for line in text.rstrip(" \t\r\n").split("\n")]


def judged(text: str) -> list[tuple[int, list[str]]]:
    """Line of the opening fence, and the lines inside without indentation, as the judge has them."""
    found = []
    try:
        tokens = JUDGE.parse(text)
    except IndexError:  # markdown-it-py 4.3 falls over raw HTML cut short in a list item in a quote
        reject()
    for token in tokens:
        if token.type == "fence" and token.info.split()[:1] == ["tpg"]:
            assert token.map is not None
            found.append((token.map[0], bare(token.content)))
    return found


def ours(text: str) -> list[tuple[int, list[str]]]:
    return [
        (text.count("\n", 0, fence.opening), bare(mask(text, [fence])[fence.start : fence.end]))
        for fence in find_fences(text)
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("# Job\n\n```tpg\nrod R1\n```\nEnd\n", ["rod R1"]),
        ("~~~tpg\nrod R1\n~~~\n", ["rod R1"]),
        ("~~~ tpg ```x\nrod R1\n```\n~~~\n", ["rod R1\n```"]),
        ("````tpg\nrod R1\n```\nbar K1\n`````\n", ["rod R1\n```\nbar K1"]),
        ("```TPG title=x\nrod R1\n```\n", ["rod R1"]),
        ("``` \ttpg\t\nrod R1\n```\n", ["rod R1"]),
        ("   ```tpg\n   rod R1\n  ```  \n", ["rod R1"]),
        ("    ```tpg\n    rod R1\n    ```\n", []),
        ("```tpg\nrod R1\n    ```\n", ["rod R1\n```"]),
        ("```tpg\nrod R1", ["rod R1"]),
        ("```tpg\n", [""]),
        ("```tpg", [""]),
        ("```python\n```tpg\nrod R1\n```\n", []),
        ("````\n```tpg\nrod R1\n```\n````\n", []),
        ("```tpgx\nrod R1\n```\n", []),
        ("``tpg\nrod R1\n``\n", []),
        ("```tpg `x`\nrod R1\n```\n", []),
        ("1. Isolate\n\n   ```tpg\n   rod R1\n   ```\n2. Work\n", ["rod R1"]),
        ("10. Isolate\n\n    ```tpg\n    rod R1\n    ```\n", ["rod R1"]),
        ("- a\n  - b\n\n    ```tpg\n    rod R1\n    ```\n", ["rod R1"]),
        ("- ```tpg\n  rod R1\n\n  bar K1\n- next\n", ["rod R1\n\nbar K1"]),
        ("> ```tpg\n> rod R1\n> bar K1\n> ```\n", ["rod R1\nbar K1"]),
        ("> ```tpg\n> rod R1\nbar K1\n", ["rod R1"]),
        ("> - ```tpg\n>   rod R1\n>   ```\n", ["rod R1"]),
        ("<!--\n```tpg\nrod R1\n```\n-->\n", []),
        ("<!-- draft -->\n```tpg\nrod R1\n```\n", ["rod R1"]),
        ("<details>\n\n```tpg\nrod R1\n```\n</details>\n", ["rod R1"]),
        ("<details>\n```tpg\nrod R1\n```\n", []),
        ("<pre>\n\n```tpg\n```\n</pre>\n", []),
        ("text\n```tpg\nrod R1\n```\ntext\n```tpg\nbar K1\n```\n", ["rod R1", "bar K1"]),
        ("\t```tpg\n\trod R1\n", []),
        ("-\t```tpg\n\trod R1\n\t```\n", ["rod R1"]),
        ("```tpg\r\nrod R1\r\n```\r\nend\r\n", ["rod R1"]),
        ("", []),
    ],
)
def test_cases(text: str, expected: list[str]) -> None:
    assert plans(text) == expected
    assert [lines for _, lines in ours(text)] == [lines for _, lines in judged(text)] or "TPG" in text


def test_offsets_are_those_of_the_document() -> None:
    text = "1. Ground\r\n\r\n   ~~~tpg\r\n   rod R1\r\n   ~~~\r\n"
    (fence,) = find_fences(text)
    assert text[fence.opening : fence.start] == "   ~~~tpg\r\n"
    assert text[fence.start : fence.end] == "   rod R1\r\n"
    assert fence == Fence(fence.opening, fence.start, fence.end, indent=3, quotes=0, closed=True)


def test_unclosed_is_told_apart() -> None:
    assert [
        f.closed for f in find_fences("```tpg\nrod R1\n```\n\n- ```tpg\n  rod R2\n\nx\n\n~~~tpg\nrod R3\n```\n")
    ] == [True, False, False]


def test_mask_keeps_every_offset_and_line_end() -> None:
    text = "Prose: rod R9 \U0001f6a7\r\n> > ```tpg\r\n> > rod R1 # >\r\n> > ```\r\n\tmore\r\n"
    masked = mask(text, find_fences(text))
    assert len(masked) == len(text)
    assert [i for i, c in enumerate(masked) if c in "\r\n"] == [i for i, c in enumerate(text) if c in "\r\n"]
    assert masked.split() == ["rod", "R1", "#", ">"]
    assert masked.index("rod") == text.index("rod R1")


PIECES = st.sampled_from(
    [
        *["", "\n", "\n", "\n", "\n\n", " ", "  ", "   ", "    ", "\t"],
        *["```tpg\n", "```tpg\n", "```\n", "~~~tpg\n", "~~~\n", "````\n", "```tpg", "```", "~~~"],
        *["- ", "* ", "1. ", "2) ", "10. ", "-\n", "-\t", "> ", ">", ">> ", "a", "text\n", "rod R1\n", "bar K1\n"],
        *[
            "---\n",
            "===\n",
            "# h\n",
            "***\n",
            "- - -\n",
            "<!--\n",
            "-->\n",
            "<div>\n",
            "</div>\n",
            "<pre>\n",
            "</pre>\n",
            "<?",
            "?>",
        ],
    ]
)


@settings(max_examples=600, deadline=None)
@given(st.lists(PIECES, max_size=24).map("".join))
@example("- a\nlazy\n  ```tpg\nrod R1\n")
@example("-\n\n  ```tpg\n  rod R1\n")
@example("> a\n    lazy\n> ```tpg\n> rod R1\n")
def test_fences_are_those_that_the_judge_finds(text: str) -> None:
    assert ours(text) == judged(text)


@given(st.text("`~ \t\n\r>-1.ab<!", max_size=80))
def test_any_text_gives_fences_in_order_and_within_it(text: str) -> None:
    at = 0
    for fence in (*find_fences(text), *unmarked_fences(text)):
        assert at <= fence.opening < fence.start <= fence.end <= len(text) or fence.start == fence.end == len(text)
        at = fence.end
    assert len(mask(text, find_fences(text))) == len(text)


@pytest.mark.parametrize(
    "made",
    [
        lambda n: "> " * n,
        lambda n: "- " * n + "\n" * n,
        lambda n: "```" * n,
        lambda n: "* " * n + "x",
        lambda n: "```tpg\n" * n,
        lambda n: "\t" * n + "```",
    ],
    ids=["quotes", "items", "ticks", "stars", "openings", "tabs"],
)
def test_work_is_linear(made: Callable[[int], str], calls: Callable[[Callable[[], object]], int]) -> None:
    small, large = (calls(lambda n=n: find_fences("```\n```\n" + made(n))) for n in (4_000, 32_000))
    assert large <= 8.5 * small + 100

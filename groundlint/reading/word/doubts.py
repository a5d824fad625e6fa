"""What may stand in a document and is no plain text: where it stands in a plan it is named, and the plan is unread."""

from __future__ import annotations

from typing import NamedTuple


class Doubt(NamedTuple):
    """A stretch of the text in which something stands that is not read, by its code, with what to name of it."""

    start: int
    end: int
    code: str
    what: str = ""


_CHANGE = "accept or reject the change, then review the document again"
_PLAIN = "write it as plain words, or take it out of the plan"

SAYING: dict[str, tuple[str, str]] = {
    "tracked-insertion": ("these words are a tracked insertion that nobody has accepted", _CHANGE),
    "tracked-deletion": ("a tracked deletion stands here that nobody has accepted", _CHANGE),
    "tracked-move": ("a tracked move stands here that nobody has accepted", _CHANGE),
    "tracked-format": ("a tracked change of format or numbering stands here that nobody has accepted", _CHANGE),
    "struck-through": ("these words are struck through", "take them out, or take the line off them"),
    "hidden-text": ("these words are hidden", "show them, or take them out"),
    "hard-to-see": ("these words can't be seen on paper: they are white, or smaller than 4 points", "make them seen"),
    "raised-text": ("these words are raised or lowered, so that they may say something else", _PLAIN),
    "shown-otherwise": ("these words show other letters than they are written with", _PLAIN),
    "right-to-left": ("these words are laid out from right to left", _PLAIN),
    "field": ("a field stands here, whose words may change", "put its words in its place (Ctrl+Shift+F9 in Word)"),
    "empty-form-field": ("this form field is not filled in", "fill it in, or take it out"),
    "bound-form-field": ("this form field takes its words from data beside the text", _PLAIN),
    "picture": ("a picture or a drawing stands here", "move it out of the plan"),
    "embedded-object": (
        "an object of another program stands here, such as a sheet or a formula",
        "move it out of the plan, and write there in words what it says",
    ),
    "text-box": ("a text box stands here", "move its words into the text"),
    "frame": ("this paragraph stands in a frame of its own", "take it out of its frame"),
    "formula": ("a formula stands here", _PLAIN),
    "note-mark": ("a footnote or endnote is called here", "write what it says into the plan, or around it"),
    "symbol": ("a symbol stands here that is no letter", _PLAIN),
    "optional-hyphen": ("an optional hyphen stands here", "take it out"),
    "other-numbers": ("the automatic number is of a form that is not read", "number the list 1, 2, 3"),
    "merged-cell": ("this cell is merged with the one above, which hides its words", "move the words out of it"),
    "columns": (
        "the plan stands in several columns of a table, so that its order is not plain",
        "keep it in one column",
    ),
    "table": ("a table stands within the plan's own", "write its lines as paragraphs"),
    "embedded-document": ("another document is embedded here, which is not read", "paste its words in its place"),
    "elsewhere": ("a paragraph of the style Plan stands where a plan is not read", "move it into the text"),
    "not-understood": ("what stands here is not understood", _PLAIN),
}
"""By code: what is said, and what to do."""

ANYWHERE = ("embedded-document", "elsewhere")
"""What is said wherever it stands."""

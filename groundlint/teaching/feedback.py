"""A page a student and one for the class: what was right, what was wrong, why it matters, where it is written."""

from __future__ import annotations

from groundlint.teaching.classes import MOST_ALIKE, ClassView, note, number, other_names
from groundlint.teaching.marking import Item, Marked
from groundlint.teaching.pages import page, wrapped


def _verdict(one: Marked) -> str:
    head = f"{number(one.marks)} of {number(one.out_of)} points, {one.share * 100:.0f} %"
    if one.note:
        return f"{head}. It could not be marked: {one.note}."
    if one.lacking:
        return f"{head}. Not passed, since this is required: {'; '.join(one.lacking)}."
    return f"{head}. {'Passed' if one.passed else 'Not passed'}."


def _title(one: Marked) -> str:
    return f"Feedback for {one.student}" if one.student else f"Feedback on {one.name}"


def _parts(one: Marked) -> tuple[list[Item], list[Item]]:
    """What was right of what could be earned, and what was wrong with the dearest first."""
    right = [item for item in one.items if item.full and item.points]
    wrong = sorted((item for item in one.items if not item.full), key=lambda item: -(item.points - item.earned))
    return right, wrong if not one.note else []


def points(item: Item) -> str:
    """What an item earned of what, or what it takes off."""
    return f"{number(item.earned)} of {number(item.points)}" if item.points else f"{number(-item.earned)} off"


def feedback_html(one: Marked, subject: str) -> str:
    """One student's page."""
    right, wrong = _parts(one)
    return page(
        "feedback.html",
        title=_title(one),
        subject=subject,
        verdict=_verdict(one),
        right=right,
        wrong=wrong,
        off=one.off,
        taken_off=one.taken_off,
        number=number,
        points=points,
    )


def feedback_text(one: Marked, subject: str) -> str:
    """One student's page as plain text."""
    right, wrong = _parts(one)
    title = _title(one)
    out = [title, "=" * len(title), *wrapped(subject), *wrapped(_verdict(one))]
    if wrong:
        out += ["", "What was wrong", "--------------"]
        for item in wrong:
            out += wrapped(f"{item.title} ({points(item)}; {item.state})", "* ")
            if item.said:
                out += wrapped(item.said, "  ")
            for line in item.lines:
                place = f"{line.called}: " if line.called else ""
                words = f"`{line.words}`: " if line.words else ""
                out += wrapped(f"{place}{words}{line.message}", "  - ")
                if line.next:
                    out += wrapped(f"next: {line.next}", "    ")
            if item.why:
                out += wrapped(f"Why it matters: {item.why}", "  ")
            if item.written:
                out += wrapped(f"Where it is written: {'; '.join(item.written)}", "  ")
    if one.off:
        head = "Taken off" if one.taken_off else "Also"
        out += ["", head, "-" * len(head)]
        for off in one.off:
            out += wrapped(f"{number(off.points)}: {off.said}" if off.points else off.said, "* ")
        if one.taken_off:
            out += wrapped(f"taken off in all: {number(one.taken_off)}")
    if right:
        out += ["", "What was right", "--------------"]
        for item in right:
            out += wrapped(f"{item.title} ({number(item.points)})", "* ")
    return "\n".join(out) + "\n"


def class_html(view: ClassView) -> str:
    """The class's page."""
    return page(
        "class.html",
        title=view.title,
        view=view,
        number=number,
        note=note,
        other_names=other_names,
        most_alike=MOST_ALIKE,
    )


__all__ = ["class_html", "feedback_html", "feedback_text"]

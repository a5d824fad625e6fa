"""Answers to each lesson of the course as edits of its handout or of its sound plan: some that try to get marks
without doing the job, some that do it in another way than the sound plan does."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

COURSE = Path(__file__).resolve().parents[2] / "examples" / "course"
LESSONS = sorted(path for path in COURSE.iterdir() if path.is_dir())


class Edited(NamedTuple):
    """An answer to a lesson, and what it tries or how it differs."""

    name: str
    text: str


class Lesson(NamedTuple):
    """The texts of a lesson."""

    handout: str
    sound: str
    scheme: str


def lesson(folder: Path) -> Lesson:
    """A lesson as its folder has it."""
    (plan,) = folder.glob("*.tpg")
    texts = [path.read_text("utf-8") for path in (plan, folder / "parts" / "sound.tpg", folder / "scheme.toml")]
    return Lesson(*texts)


def put(text: str, old: str, new: str, count: int = 0) -> str:
    """A text with a pattern replaced; it must stand there."""
    changed, times = re.subn(old, new, text, count=count, flags=re.MULTILINE)
    assert times, old
    return changed


def steps(text: str, *verbs: str) -> str:
    """The steps of some kinds, one a line."""
    return "\n".join(line for line in text.split("\n") if re.match(rf"\s*\d+\. +({'|'.join(verbs)}) ", line))


def without(text: str, *verbs: str) -> str:
    """Without the steps of some kinds."""
    return put(text, rf"^ *\d+\. +({'|'.join(verbs)}) .*\n", "")


def unnumbered(text: str) -> str:
    """Steps without their numbers, so that they can stand in any order."""
    return put(text, r"^ *\d+\. +", "  ")


def stage(text: str, name: str) -> str:
    """A stage with its steps."""
    found = re.search(rf"^stage {name}\n(.*?)(?=^stage|\Z)", text, re.MULTILINE | re.DOTALL)
    assert found, name
    return found[0]


# ------------------------------------------------------------------ marks without the job
def without_the_job(here: Lesson, other: Lesson) -> Iterator[Edited]:
    """Attempts on one lesson; ``other`` is another lesson."""
    handout, sound = here.handout, here.sound
    (place,) = set(re.findall(r"enter +Wren at (\w+)", handout))
    (route,) = re.findall(r"^  route +(.*)$", handout, re.MULTILINE)
    away = re.findall(r"[A-Z]+\d", route)[-1]
    slugs = re.findall(r"^([a-z-]+) = (?:\d|\{ points)", here.scheme, re.MULTILINE)

    yield Edited("as handed out", handout)
    yield Edited("nothing in reach", put(handout, r"reaching .*$", "reaching nothing"))
    yield Edited("nothing in reach of the sound plan", put(sound, r"reaching .*$", "reaching nothing"))
    yield Edited("less in reach", put(sound, r"reaching N A.*$|reaching A B C.*$", "reaching the pole"))
    yield Edited("work where nothing is", put(handout, rf"(enter +Wren at ){place}", rf"\g<1>{away}"))
    yield Edited("another lesson's answer", other.sound)
    yield Edited("nobody goes up", without(handout, "enter", "work", "leave"))
    yield Edited("up and down again, and the work from the ground", unnumbered(_work_from_below(handout)))
    yield Edited("no work", without(sound, "work"))
    yield Edited("a detector that is never proven", put(sound, r"^ *(\d+\.)? +prove .*\n", ""))
    yield Edited("tested by hand", put(sound, r"(with D1) on H1", r"\1 by hand"))
    waivers = "".join(f'waive {slug} because "as agreed" by "Wren" until 2027-01-01\n' for slug in slugs)
    yield Edited("every rule waived", put(handout, r"^caution", f"{waivers}caution", 1))
    reason = 'no grounds because "the line is short", no contact possible, no induction'
    yield Edited("no grounds, with a reason", put(handout, r"^caution", f"{reason}\ncaution", 1))
    yield Edited("no source", put(put(handout, r"^source (.*\n)+?(?=no other source)", ""), r"^cutout .*\n", ""))
    yield Edited("a low voltage", put(sound, r"^  voltage .*$", "  voltage 240 V"))
    yield Edited("another method", put(handout, r"^method .*\n", ""))
    yield Edited("a little current", put(sound, r"^  fault .*$", "  fault 10 A three-phase, 10 A to ground, x/r 1"))
    yield Edited("steps as comments", put(handout, r"^stage work", f"# {steps(sound, '.*').replace(chr(10), '; ')}"))
    yield Edited("no steps at all", handout[: handout.index("stage isolate")])
    ground, work, remove = (stage(sound, name) for name in ("ground", "work", "remove"))
    yield Edited("off before anybody is up", unnumbered(sound.replace(work, "").replace(remove, remove + work)))
    yield Edited("up before anything is on", unnumbered(sound.replace(work, "").replace(ground, work + ground)))
    yield Edited("nothing opened", put(sound, r"^ *3\. open .*\n", ""))


def _work_from_below(text: str) -> str:
    """Whoever goes up comes down before the work, and another does it from the ground."""
    place = re.search(r"enter +Wren at (\w+)", text)
    assert place
    below = f"  enter Pike at {place[1]} on the ground, reaching nothing\n"
    return put(text, r"^( *\d+\. +work .*\n)( *\d+\. +leave +Wren.*\n)", rf"\2{below}\1  leave Pike\n")


# ------------------------------------------------------------------ the job done in another way
def done_in_another_way(here: Lesson) -> Iterator[Edited]:
    """Sound answers that differ from the sound plan."""
    sound = here.sound
    yield Edited("as the sound plan", sound)
    yield Edited("in the earthing tradition's words", put(put(sound, r"\battach\b", "apply "), r"\bdetach\b", "remove"))
    yield Edited("other names", renamed(sound))
    yield Edited("no numbers, more cautions", unnumbered(put(sound, r"^caution", 'caution "a wet road"\ncaution', 1)))
    yield Edited("bigger leads", put(sound, r"2/0 copper", "4/0 copper"))
    yield Edited("tools looked over too", put(sound, r"(\binspect +[^\n]*)", r"\1 H1 D1"))
    yield Edited("somebody else goes up", put(sound, r"\bWren\b", "Dipper"))
    yield Edited(
        "its values in other units", put(put(sound, r"(\d)\.(\d) kA", r"\g<1>\g<2>00 A"), r"\(60 m\)", "(0.06 km)")
    )


def renamed(text: str) -> str:
    """Leads, bars, detector and stick by other names."""
    text = put(text, r"G1\.\.G4 G11\.\.G14", "G1 G2 G3 G4 G11 G12 G13 G14") if "G11.." in text else text
    text = re.sub(r"\b([GP])1\.\.\1(\d)\b", lambda m: " ".join(f"{m[1]}{n}" for n in range(1, int(m[2]) + 1)), text)
    return re.sub(r"\b([GPKHDR])(\d+)\b", lambda m: f"{chr(ord(m[1]) - 3)}{int(m[2]) + 40}", text)

"""Forty answers to one lesson, made from its sound plan, and what each should be given, with the reason."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

LESSON = Path(__file__).resolve().parents[2] / "examples" / "course" / "lesson-3-a-set-at-one-pole"
SCHEME = LESSON / "scheme.toml"
SOUND = (LESSON / "parts" / "sound.tpg").read_text(encoding="utf-8")
FULL = "full"


class Handed(NamedTuple):
    """An answer: its bytes; the marks expected, ``full`` or points below full; whether it passes; why."""

    name: str
    data: bytes
    off: float | str
    passed: bool
    why: str


def without(text: str, *starts: str) -> str:
    """Without the steps that begin with these words, numbered or not."""
    kept = [line for line in text.split("\n") if not any(re.match(rf"\s*\d+\.\s+{start}", line) for start in starts)]
    return "\n".join(kept)


def swapped(text: str, one: str, other: str) -> str:
    """Two phrases in each other's place."""
    return text.replace(one, "\0").replace(other, one).replace("\0", other)


def renamed(text: str) -> str:
    """Leads, bar, detector and stick by other names, declarations in another order."""
    for old, new in (("G1..G4", "J7 J8 J9 J10"), ("G1", "J7"), ("G2", "J8"), ("G3", "J9"), ("G4", "J10")):
        text = re.sub(rf"\b{re.escape(old)}\b(?!\.\.)", new, text)
    text = re.sub(r"\bK1\b", "K9", re.sub(r"\bH1\b", "H5", re.sub(r"\bD1\b", "D4", text)))
    lines = text.split("\n")
    at = {key: next(n for n, line in enumerate(lines) if line.startswith(key)) for key in ("bar ", "stick ")}
    lines[at["bar "]], lines[at["stick "]] = lines[at["stick "]], lines[at["bar "]]
    return "\n".join(lines)


def handed() -> list[Handed]:
    """The forty."""
    out: list[Handed] = []

    def put(name: str, text: str | bytes, off: float | str, passed: bool, why: str) -> None:
        out.append(Handed(name, text if isinstance(text, bytes) else text.encode(), off, passed, why))

    # sound in different ways: all marks
    put("s01-as-taught", SOUND, FULL, True, "the sound plan")
    put(
        "s02-other-phase-order",
        swapped(SOUND, "TE3 A by", "TE3 C by"),
        FULL,
        True,
        "phases in another order, kept when removing",
    )
    put("s03-earth-words", SOUND.replace("attach ", "apply  ").replace("detach ", "remove "), FULL, True, "other words")
    put("s04-longer-leads", SOUND.replace("20 ft", "25 ft"), FULL, True, "leads of another length within the limit")
    put("s05-bigger-leads", SOUND.replace("2/0 copper", "4/0 copper"), FULL, True, "bigger leads")
    put(
        "s06-tests-apart",
        SOUND.replace("test      TE3 A B C with D1 on H1", "test      TE3 A B C with D1 by H1, finding dead"),
        FULL,
        True,
        "the test said in another way",
    )
    put(
        "s07-more-caution",
        SOUND.replace("emergency", 'caution   "traffic on the road"\nemergency'),
        FULL,
        True,
        "a caution more",
    )
    put(
        "s08-inspects-tools",
        SOUND.replace("inspect   G1..G4", "inspect   G1..G4 H1 D1"),
        FULL,
        True,
        "tools looked over as well",
    )
    put("s09-renamed", renamed(SOUND), FULL, True, "sound; alike to s01 with other names")
    put(
        "s10-comments",
        SOUND.replace("stage work", "# grounded by now\nstage work"),
        FULL,
        True,
        "comments change nothing",
    )
    # one thing lacking or wrong: its points, or part of them
    put(
        "w01-no-proof-before",
        SOUND.replace("   6. prove     D1 on T1\n", "", 1),
        1,
        False,
        "half of 2: there is a proof, after",
    )
    put("w02-no-test", without(SOUND, "test", "prove"), "required", False, "a required rule is not met")
    put("w03-test-by-hand", SOUND.replace("with D1 on H1", "with D1 by hand"), 2, False, "test by hand")
    put("w04-not-cleaned", without(SOUND, "clean"), 1, True, "no step `clean`, so nothing of 1")
    put(
        "w05-line-end-by-hand",
        SOUND.replace("then to TE3 A by H1", "then to TE3 A by hand"),
        "required",
        False,
        "line end by hand is required not to be",
    )
    put("w06-bar-above", SOUND.replace("below the feet", "above the feet"), 1, True, "half of 2: the bar is mounted")
    put("w07-no-hold", without(SOUND, "hold"), 1, True, "no hold")
    put(
        "w08-one-phase-left",
        without(SOUND, "attach    G3", "detach    G3"),
        "required",
        False,
        "a phase without a lead",
    )
    put("w09-no-removal", without(SOUND, "detach", "dismount"), "required", False, "every ground is left on")
    put("w10-lead-left", without(SOUND, "detach    G3"), "required", False, "one ground is left on")
    put(
        "w11-line-end-first",
        swapped(SOUND, "G2 to K1, then to TE3 A by H1", "G2 to TE3 A by H1, then to K1"),
        "required",
        False,
        "line end first",
    )
    put(
        "w12-ground-end-off-first",
        SOUND.replace("from TE3 A by H1, then from K1", "from K1, then from TE3 A by H1"),
        "required",
        False,
        "ground end off first",
    )
    put("w13-stays-up", without(SOUND, "leave"), "required", False, "nobody comes down")
    put(
        "w14-no-caution",
        "\n".join(line for line in SOUND.split("\n") if not line.startswith("caution")),
        FULL,
        True,
        "a notice, for which the scheme takes nothing off",
    )
    put(
        "w15-thin-leads",
        SOUND.replace("2/0 copper", "4 AWG copper"),
        2,
        False,
        "a danger that the scheme does not name: 2 off, and no pass",
    )
    put("w16-not-briefed", without(SOUND, "brief"), "less", True, "other rules broken: taken off")
    put(
        "w17-no-fault-current",
        SOUND.replace("  fault     4.4 kA three-phase, 3.1 kA to ground, x/r 6\n", ""),
        "none",
        False,
        "the source is given, and not as it was handed out",
    )
    put(
        "w18-a-line-unread", SOUND.replace("stage work", "stage work\n  wrok"), 1, True, "one line can't be read: 1 off"
    )
    put(
        "w19-waived",
        SOUND.replace(
            "caution ", 'waive     bar-below-feet because "no time" by "student" until 2027-01-01\ncaution '
        ).replace("below the feet", "above the feet"),
        1,
        True,
        "a student's waiver earns nothing",
    )
    put(
        "w20-five-unread",
        SOUND.replace("stage work", "stage work\n" + "  wrok\n" * 9),
        6,
        True,
        "nine lines unread, bounded to 6",
    )
    # nothing, or not a plan
    put("e01-empty", b"", "none", False, "empty")
    put("e02-blank", b" \n\n", "none", False, "blank")
    put("e03-bytes", bytes(range(256)) * 4, "none", False, "no text")
    put("e04-prose", "I would test it, then ground it.\nThen go home.\n", "none", False, "no line is of a plan")
    put("e05-utf16", SOUND.encode("utf-16"), "none", False, "not UTF-8")
    put("e06-cut-off", SOUND[: len(SOUND) // 3], "less", False, "cut off in the things")
    put("e07-zip", b"PK\x03\x04" + bytes(200), "none", False, "another kind of file")
    # copied
    put("c01-copy-of-w06", renamed(SOUND.replace("below the feet", "above the feet")), 1, True, "as w06, renamed")
    put("c02-copy-of-w07", renamed(without(SOUND, "hold")), 1, True, "as w07, renamed")
    put("c03-copy-of-w10", renamed(without(SOUND, "detach    G3")), "required", False, "as w10, renamed")
    return out

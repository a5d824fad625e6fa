"""What decoding a file had to say makes its review unclean, however sound the rest."""

from __future__ import annotations

from pathlib import Path

from crowd import reviewer

from groundlint.text import Source
from groundlint.text.decode import decode

SOUND = Path(__file__).parents[2] / "examples" / "dual-point-crossarm.tpg"


def test_a_sound_plan_with_a_byte_that_is_no_text_is_not_clean() -> None:
    data = SOUND.read_bytes()
    for raw, status in ((data, 0), (data.replace(b"# Quillback", b"# \xffQuillback", 1), 1)):
        source, problems = decode(raw, "plan.tpg")
        assert isinstance(source, Source)
        review = reviewer(computed=True).review(source, problems=problems)
        assert review.plan.unread == bool(status)
        assert review.status() == status

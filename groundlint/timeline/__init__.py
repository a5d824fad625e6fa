"""The world before and after each step of a plan: a pure fold over its actions, kept as the changes alone."""

from groundlint.timeline.happenings import HAPPENINGS, happenings
from groundlint.timeline.replay import replay
from groundlint.timeline.timeline import Timeline
from groundlint.world.network import FAR, NEAR
from groundlint.world.records import Barricade, End, Mounted, RodSet, Stand

__all__ = [
    "FAR",
    "HAPPENINGS",
    "NEAR",
    "Barricade",
    "End",
    "Mounted",
    "RodSet",
    "Stand",
    "Timeline",
    "happenings",
    "replay",
]

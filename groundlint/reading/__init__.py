"""From a source to a plan: files taken in, names resolved, steps and routines unfolded into primitive actions."""

from groundlint.reading.resolve import read_plan

__all__ = ["read_plan"]

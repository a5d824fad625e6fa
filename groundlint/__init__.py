"""Linter for written temporary protective grounding plans on overhead lines."""

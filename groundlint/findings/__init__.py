"""Findings of a review, waivers, and the gate."""

from groundlint.findings.model import Ask, Finding, Kind, Review

__all__ = ["Ask", "Finding", "Kind", "Review"]

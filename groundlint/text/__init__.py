"""Source text: positions, spans, fences, and the diagnostics that point at them."""

from groundlint.text.diagnostic import Diagnostic, Severity
from groundlint.text.source import Position, Source, Span

__all__ = ["Diagnostic", "Position", "Severity", "Source", "Span"]

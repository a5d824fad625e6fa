"""plan stage."""

"""facts stage."""

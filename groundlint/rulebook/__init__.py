"""rulebook stage."""

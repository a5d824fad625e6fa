"""report stage."""

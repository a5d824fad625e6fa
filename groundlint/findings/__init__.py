"""findings stage."""

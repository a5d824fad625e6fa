"""language stage."""

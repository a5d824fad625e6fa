"""timeline stage."""

"""electrical stage."""

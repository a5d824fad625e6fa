"""Reports: what a review says, for people and for programs."""

"""Written plans that hurt somebody and that a review still calls clean, by what hurts. Who mends one takes it out."""

MISSED: dict[str, tuple[str, ...]] = {}

"""Written plans that hurt somebody and that a review still calls clean, by what hurts. Who mends one takes it out."""

MISSED: dict[str, tuple[str, ...]] = {
    "clamp-on-live": ("bond-to-live-underbuild",),
    "empty-test": (
        "night-between-two-phases",
        "proof-a-night-before",
        "second-proof-a-night-later",
        "test-a-night-before",
    ),
    "no-ground-between": (
        "moves-on-towards-the-source",
        "two-crews-one-unprotected",
    ),
    "person-left": ("somebody-left-up-over-the-night",),
    "strung-past-live": ("strung-past-a-live-line",),
    "two-potentials": ("moves-up-into-an-open-zone",),
    "work-unprotected": (
        "nobody-ever-climbs",
        "work-after-leaving",
        "work-after-the-release",
        "work-before-anything-is-open",
        "work-before-the-grounds",
    ),
}

"""A plan's circuit at each step, built of what it states and what is assumed, solved, and what that means."""

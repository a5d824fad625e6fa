"""Plans: frozen models with names resolved and units in SI; what a plan declares."""

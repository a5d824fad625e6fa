"""What an engineer signs: figures with their inputs, equations and sources."""

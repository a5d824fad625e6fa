"""What flows and what it does: tables and equations, a solver, a plan studied with both, and the record of it."""

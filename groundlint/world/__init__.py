"""What changes while a plan is carried out, kept as the changes alone: written by the effects of steps."""

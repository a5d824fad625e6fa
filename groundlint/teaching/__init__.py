"""Exercises made of sound plans, and marks for answers to them: on top of reviews, which alone decide what is wrong."""

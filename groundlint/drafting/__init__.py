"""Plans to begin with: the steps that a method implies, without any fact that only the writer knows."""

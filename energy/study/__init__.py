"""The case and what is computed from it."""

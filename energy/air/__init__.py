"""Moist air, and the compression and expansion of air."""

"""A comparison as text, JSON and sheets for people."""

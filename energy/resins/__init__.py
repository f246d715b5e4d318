"""Resins: properties, sorption of water, diffusion of moisture out of pellets."""

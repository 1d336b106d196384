"""Compost sites: their gates."""

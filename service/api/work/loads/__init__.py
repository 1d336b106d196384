"""Loads, tips and held grass: what was tipped where, and who said so."""

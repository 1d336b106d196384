"""Computations for callers without records: each answer carries its factors and sources."""

"""Proposed orders of a vehicle's jobs."""

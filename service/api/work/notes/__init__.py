"""Delivery notes: as records, as pages, and their answers."""

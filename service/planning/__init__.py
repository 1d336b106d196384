"""Stops, capacities and costs as integers in, a plan out; it knows no grass."""

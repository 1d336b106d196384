"""Tip plans of single vehicles: the candidates they look at, their cost, what cuts add."""

"""Delivery notes: gather facts, issue, correct, show."""

"""A day's routing, its reasons, and what it would be if."""

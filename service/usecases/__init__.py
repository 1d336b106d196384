"""What the service does, one module a verb, and the ports it needs for it."""

"""A planned day in words and records for those who read it."""

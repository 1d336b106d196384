"""What happens on a planned day, and the day after it."""

"""What is asked of a bed on a day: standing, law, hours, limits, cautions, and of what lot."""

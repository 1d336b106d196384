"""What moved between two plans of a day, and why."""

"""What is kept of a person, and what becomes of it when that is asked for."""

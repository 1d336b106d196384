"""What may be supposed of a day, and what is wrong with it."""

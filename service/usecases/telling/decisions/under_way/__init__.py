"""What waits for a word of grass aboard or on its way, and of the vehicle it is in."""

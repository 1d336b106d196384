"""What a kept plan says that waits for a word."""

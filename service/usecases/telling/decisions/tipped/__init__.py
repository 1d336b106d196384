"""What waits for a word of grass that was tipped: what was learned, answered or recalled of it."""

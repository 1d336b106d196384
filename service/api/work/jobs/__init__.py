"""Jobs as crews post them, and the question before the first cut."""

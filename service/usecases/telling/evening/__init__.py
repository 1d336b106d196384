"""What days came to: the evening of one, its close, and sums of many."""

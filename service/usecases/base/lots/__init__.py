"""What a lot is by all that is on record: its facts, estimate, weights, what is left of it."""

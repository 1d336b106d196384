"""Questions that need no records: computations, rules and sources, each with its why."""

"""Several verbs in one transaction."""

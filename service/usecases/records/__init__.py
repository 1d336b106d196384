"""Keep, amend, list and delete records, and what follows from a change."""

"""One shape of failure: problem+json, and a page for each kind."""

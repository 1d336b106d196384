"""How likely a plan overflows when lots turn out heavier than planned."""

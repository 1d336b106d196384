"""What was laid on a bed before: its account of twelve months, and a firm's wish to be fair."""

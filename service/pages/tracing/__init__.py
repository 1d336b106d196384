"""What was put on lawns, where their grass went, and whom to call."""

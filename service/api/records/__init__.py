"""What all resources share: lists, history, kept answers, book routes."""

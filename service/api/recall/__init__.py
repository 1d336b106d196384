"""What is learned too late: where everything of some lots is or went, and whom to tell."""

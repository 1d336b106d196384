"""What is measured: units people write, SI values beside them, and what nobody weighed."""

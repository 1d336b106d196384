"""What happened since the plan before, and whom it concerns."""

"""What lies across a network or a disk: distances, and whatever a later door brings."""

"""What each kind of destination accepts, how much of it, and why not."""

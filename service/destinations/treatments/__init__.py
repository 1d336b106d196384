"""What treatments of a lawn ask of its clippings: where they may go, and what stays on it."""

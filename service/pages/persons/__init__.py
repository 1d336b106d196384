"""What is kept of a client as a person: a file to hand out, and the way to erase it."""

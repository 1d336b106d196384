"""What is on record of one client: told whole, and erased."""

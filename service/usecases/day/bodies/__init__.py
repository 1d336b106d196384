"""What is, or will be, in the bodies of vehicles, in pieces as the planner sees them."""

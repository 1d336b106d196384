"""What is recorded of a bed: whose law it is under, and what a crew must know there."""

"""All vehicles together: column generation, bounds, diving, sub-problems, branching."""

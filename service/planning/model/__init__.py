"""The problem and the plan as records, and what is wrong with either."""

"""Low, likely and high, and the ranges in which a formula is valid."""

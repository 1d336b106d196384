"""What crews say from the field: which visit a cut is of, and whatever else happened, in order."""

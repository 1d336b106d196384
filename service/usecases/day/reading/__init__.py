"""Everything a day is planned on, read in a fixed number of statements."""

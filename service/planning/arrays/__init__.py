"""A day as arrays that compiled code reads: places, ways, delays."""

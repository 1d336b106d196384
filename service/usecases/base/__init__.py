"""What all use cases stand on: ports, calendar, distances, prices."""

"""What all use cases stand on: ports, lots, calendar, the table of kinds, and what is handed."""

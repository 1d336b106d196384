"""On what terms a place takes what: its hours, fees, process, and its word on the day."""

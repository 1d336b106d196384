"""A day's routing as it is told: vehicles, lots, hints, fairness, overflow, the map."""

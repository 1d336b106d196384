"""The dispatcher's screen: what needs a decision, the vehicles, the map, and why."""

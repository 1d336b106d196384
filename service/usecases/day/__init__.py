"""What a depot's day is: its facts, vehicles, destinations, loads, and what changed."""

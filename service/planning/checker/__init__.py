"""The independent judge: replays a plan, and shares no code with what made it."""

"""The question before the mower starts, and its answer."""

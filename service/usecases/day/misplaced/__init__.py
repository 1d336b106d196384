"""Loads that lie where they may not, or are on their way there."""

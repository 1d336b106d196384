"""Compost mixes and recipes, decay, liquid feed."""

"""Searches on record: asked for, fetched, cancelled; whose turn it is; who searches."""

"""Delivery notes: the facts first, then the words, then the bytes."""

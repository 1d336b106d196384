"""The mass book: every kilogram is somewhere, and came there by an entry."""

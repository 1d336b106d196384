"""The facts of a note, without words."""

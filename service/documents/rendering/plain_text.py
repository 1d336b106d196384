"""User text made fit to stand in a document: one line, nothing invisible that misleads."""

import unicodedata
from typing import Final

# Joiners hold letters of some scripts and emoji together; they stay.
_KEPT_FORMATS: Final = frozenset("\u200c\u200d")
_DROPPED: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})


def plain(text: str) -> str:
    """Return user text on one line, without controls, direction marks or half characters.

    Letters, signs and emoji of every script stay. Marks that turn the direction of
    writing go, because with them a name can show other words than it holds.
    """
    kept = (
        character
        for character in text
        if character.isspace()
        or character in _KEPT_FORMATS
        or unicodedata.category(character) not in _DROPPED
    )
    return " ".join(unicodedata.normalize("NFC", "".join(kept)).split())


def shortened(text: str, *, letters: int) -> str:
    """Return user text cut to a number of letters, with an ellipsis if it was cut."""
    return text if len(text) <= letters else f"{text[: letters - 1].rstrip()}…"


def fewer(names: tuple[str, ...], *, most: int) -> tuple[str, ...]:
    """Return a list of names cut to a number, ended by how many more there are."""
    if len(names) <= most:
        return names
    return (*names[:most], f"… (+{len(names) - most})")

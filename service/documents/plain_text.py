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
    composed = unicodedata.normalize("NFC", text)
    kept = (
        " " if character in "\t\n\r\v\f\u2028\u2029" else character
        for character in composed
        if character in "\t\n\r\v\f\u2028\u2029"
        or character in _KEPT_FORMATS
        or unicodedata.category(character) not in _DROPPED
    )
    return " ".join("".join(kept).split(" ")).strip()


def shortened(text: str, *, letters: int) -> str:
    """Return user text cut to a number of letters, with an ellipsis if it was cut."""
    return text if len(text) <= letters else f"{text[: letters - 1].rstrip()}…"

"""The languages, papers, units, reasons and faults of forms that notes know."""

from service.documents import (
    CREW_WORDS,
    FormFault,
    NoNote,
    Reader,
    Unkept,
    crew_sentence,
    told_sentence,
    unread_languages,
)
from service.documents import LANGUAGES as NOTE_LANGUAGES
from service.documents import PAPERS as NOTE_PAPERS
from service.documents import REASONS as REFUSAL_REASONS


def refusal_words(kept: str | None) -> str | None:
    """Return why a load was refused as the office reads it: a client's answer is kept as a code."""
    return None if kept is None else Reader("en").table("reason").get(kept, kept)


__all__ = [
    "CREW_WORDS",
    "NOTE_LANGUAGES",
    "NOTE_PAPERS",
    "REFUSAL_REASONS",
    "FormFault",
    "NoNote",
    "Reader",
    "Unkept",
    "crew_sentence",
    "refusal_words",
    "told_sentence",
    "unread_languages",
]

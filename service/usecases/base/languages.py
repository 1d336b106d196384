"""The languages, papers, units and reasons that notes know."""

from service.documents import CREW_WORDS, Reader, crew_sentence, told_sentence, unread_languages
from service.documents import LANGUAGES as NOTE_LANGUAGES
from service.documents import PAPERS as NOTE_PAPERS
from service.documents import REASONS as REFUSAL_REASONS

__all__ = [
    "CREW_WORDS",
    "NOTE_LANGUAGES",
    "NOTE_PAPERS",
    "REFUSAL_REASONS",
    "Reader",
    "crew_sentence",
    "told_sentence",
    "unread_languages",
]

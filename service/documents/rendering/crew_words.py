"""Words to a crew at a stop, in the crew's language."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from service.documents.rendering.language import language
from service.documents.rendering.plain_text import plain

# Every word there is, by its key under ``crew`` in the files of languages.
CREW_WORDS: Final = (
    "horses_behind_fence",
    "grazing_behind_fence",
    "look_for_animals",
    "look_at_ground",
    "only_between",
    "leachate_not_caught",
    "sensitive_plants",
    "where_to_lay",
)


def crew_sentence(code: str, gaps: Iterable[tuple[str, str]], *, language_code: str) -> str:
    """Return a word to a crew as a whole sentence.

    Parameters
    ----------
    code
        One of `CREW_WORDS`.
    gaps
        What the sentence names, as somebody wrote it.
    language_code
        ISO 639-1 code of a language that notes know.

    Raises
    ------
    LanguageUnknown
    """
    filled = {name: plain(text).rstrip(". ") for name, text in gaps}
    return language(language_code).sentence(f"crew.{code}", **filled)

"""What a crew must know where it tips: in English, and in the language of the crew."""

from __future__ import annotations

from typing import Final

from service.destinations.ready import ReadyDestination
from service.documents.rendering.crew_words import crew_sentence
from service.usecases.telling.told.stops import CautionTold

DISPATCHERS_LANGUAGE: Final = "en"


def told_cautions(ready: ReadyDestination, language: str) -> tuple[CautionTold, ...]:
    """Return the words at one destination."""
    return tuple(
        CautionTold(
            code=caution.code,
            sentence=crew_sentence(caution.code, caution.gaps, language_code=DISPATCHERS_LANGUAGE),
            for_crew=crew_sentence(caution.code, caution.gaps, language_code=language),
            language=language,
            facts=dict(caution.gaps),
        )
        for caution in ready.cautions
    )

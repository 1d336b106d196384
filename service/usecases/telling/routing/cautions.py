"""What a crew must know where it tips: in English, and in the language of the crew."""

from __future__ import annotations

from typing import Final

from service.core.loads import Load
from service.destinations.ready import ReadyDestination
from service.documents.rendering.crew_words import crew_sentence
from service.documents.rendering.told_words import told_sentence
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.telling.told.stops import CautionTold

DISPATCHERS_LANGUAGE: Final = "en"
TIP_A_PART: Final = "tip_a_part"
# A crew goes by what it sees: nobody tips by less than a hundredth. Common practice, no source.
LEAST: Final = 0.01


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


def told_part(
    load: Load, fraction: float, *, language: str, next_place: str | None
) -> tuple[CautionTold, ...]:
    """Return what a crew must know of a tip that is of a part; nothing of one that is of all.

    Parameters
    ----------
    fraction
        What is tipped of all that is aboard then, above 0, at most 1.
    next_place
        Where the rest goes; None where it has no place yet.
    """
    if not 0.0 < fraction <= 1.0 - LEAST:
        return ()
    kept_kg = load.mass_kg.likely * (1.0 - fraction) / fraction
    facts: dict[str, object] = {
        "tipped_percent": max(1, round(fraction * 100)),
        "mass_kg": round(load.mass_kg.likely, 1),
        "kept_mass_kg": round(kept_kg, 1),
        **({} if next_place is None else {"place": next_place}),
    }
    sentence = told_sentence(TIP_A_PART, facts, language_code=DISPATCHERS_LANGUAGE)
    for_crew = told_sentence(TIP_A_PART, facts, language_code=language)
    return (
        CautionTold(
            code=TIP_A_PART,
            sentence=str(sentence),
            for_crew=str(for_crew),
            language=language,
            facts=facts,
        ),
    )


def fraction_on_its_way(day: VehicleDay, load: Load) -> float:
    """Return what a load that set off is of all it is mixed with in its body, above 0, at most 1.

    What is left of its lots in the body beside it is the rest: it was in one body with it.
    """
    lots = {part.lot_id for part in load.parts}
    kept_kg = sum(
        piece.mass_kg for piece in day.aboard if lots & {lot_id for lot_id, _ in piece.shares}
    )
    whole_kg = load.mass_kg.high + kept_kg
    return load.mass_kg.high / whole_kg if whole_kg > 0.0 else 1.0

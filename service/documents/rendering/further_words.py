"""A client's standing word on further deliveries, in words: what is on record, and its form."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.documents.composition.content import NoteContent
from service.documents.facts.values import Quantity, Unit
from service.documents.rendering.answer_words import MASS_UNITS
from service.documents.rendering.formats import DisplayUnits, date_text, show
from service.documents.rendering.language import Language
from service.documents.rendering.plain_text import plain


class Said(StrEnum):
    """What is on record of a client's word."""

    YES = "yes"
    NEVER = "never"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingWord:
    """A client's word on a bed: yes until a day and up to an amount each time, no, or nothing.

    ``is_faulty``: another was sent, and is not kept.
    """

    said: Said
    until: date | None = None
    most_kg: float | None = None
    is_faulty: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedFurther:
    """The form in words; what is on record stands first. Without choices nothing is asked."""

    heading: str
    now: str
    choices: tuple[tuple[str, str], ...]
    last_day: str
    most: str
    unit: str
    rules: str
    send: str
    fault: str


def further_in_words(
    word: StandingWord, content: NoteContent, *, words: Language, units: DisplayUnits
) -> WordedFurther:
    """Return what is on record, and the form that says otherwise."""
    sentences = words.sentences
    name, unit = MASS_UNITS[units]
    is_asked = word.said is not Said.NEVER
    choices = (("yes", sentences["further.yes"]), ("no", sentences["further.no"]))
    return WordedFurther(
        heading=sentences["further.heading"],
        now=_now(word, content, words=words, units=units),
        choices=choices if is_asked else (),
        last_day=sentences["further.last_day"],
        most=words.sentence("further.most", unit=words.sentence(f"unit.{name}", n="").strip()),
        unit=unit,
        rules=sentences["further.rules"],
        send=sentences["further.send"],
        fault=sentences["further.fault"] if word.is_faulty else "",
    )


def _now(word: StandingWord, content: NoteContent, *, words: Language, units: DisplayUnits) -> str:
    if word.said is Said.NEVER:
        sender = content.facts.sender
        return words.sentence("further.never", firm=plain(sender.name), phone=plain(sender.phone))
    if word.said is Said.NOTHING:
        return words.sentences["further.none"]
    if word.until is None:
        return words.sentences["further.open"]
    until = date_text(word.until, words)
    if word.most_kg is None:
        return words.sentence("further.until", until=until)
    most = Quantity(value=word.most_kg, unit=Unit.KILOGRAM)
    mass = show(most, language=words, units=units)
    return words.sentence("further.until_most", until=until, mass=mass)

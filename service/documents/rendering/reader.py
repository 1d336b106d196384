"""Whoever reads a screen: its sentences, numbers, hours and days as their language writes them."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Final

from service.documents.rendering.formats import date_text, number_text, time_text, with_unit
from service.documents.rendering.language import LANGUAGES, Language, language

THOUSAND: Final = 1000


class Reader:
    """One language of screens."""

    def __init__(self, code: str) -> None:
        """Take the code of a language that notes know. Raises LanguageUnknown."""
        self._words: Language = language(code)

    @property
    def code(self) -> str:
        """Return the code of the language, for a page."""
        return self._words.code

    @property
    def words(self) -> Language:
        """Return the language."""
        return self._words

    def text(self, key: str) -> str:
        """Return a sentence as it is written, its gaps open."""
        return self._words.sentences[key]

    def sentence(self, key: str, **gaps: object) -> str:
        """Return a sentence, its gaps filled; numbers as the language writes them."""
        return self._words.sentence(key, **{name: self.told(gap) for name, gap in gaps.items()})

    def table(self, name: str) -> dict[str, str]:
        """Return the sentences of a table by the rest of their keys."""
        start = f"{name}."
        return {
            key.removeprefix(start): text
            for key, text in self._words.sentences.items()
            if key.startswith(start)
        }

    def told(self, gap: object) -> str:
        """Return what fills a gap: a number as the language writes it, anything else as it is."""
        if isinstance(gap, (int, float)):
            return number_text(Decimal(f"{gap:.12g}"), self._words)
        return str(gap)

    # -- as filters of templates are called -----------------------------------------------

    def clock(self, moment: datetime | str | None) -> str:
        """Return the hour of a moment, as the clock there shows it."""
        if moment is None:
            return ""
        return time_text(_moment(moment), self._words)

    def when(self, moment: datetime | str, now: datetime) -> str:
        """Return the hour of a moment, with its weekday if that is not today's."""
        at = _moment(moment).astimezone(now.tzinfo)
        if at.date() == now.date():
            return self.clock(at)
        return self.sentence(
            "format.time_on_day", time=self.clock(at), weekday=self._weekday(at.date())
        )

    def day(self, day: date) -> str:
        """Return a day."""
        return date_text(day, self._words)

    def day_name(self, day: date) -> str:
        """Return a day with its weekday."""
        return f"{self._weekday(day)} {self.day(day)}"

    def kg(self, mass_kg: float) -> str:
        """Return a mass [kg]: whole kilograms, from a tonne on in tonnes."""
        if mass_kg >= THOUSAND:
            return with_unit(Decimal(f"{mass_kg / THOUSAND:.2f}"), "t", self._words)
        return with_unit(Decimal(f"{mass_kg:.0f}"), "kg", self._words)

    def m3(self, volume_l: float) -> str:
        """Return a volume [L] in cubic metres."""
        return with_unit(Decimal(f"{volume_l / THOUSAND:.1f}"), "m3", self._words)

    def status(self, word: str) -> str:
        """Return the word for a lot's status."""
        return self._words.sentences[f"status.{word}"]

    def load_state(self, word: str) -> str:
        """Return the word for a load's state."""
        return self._words.sentences[f"load_state.{word}"]

    def _weekday(self, day: date) -> str:
        return self._words.sentences[f"weekday.{day.isoweekday()}"]


def refusal_words(kept: str | None) -> str | None:
    """Return why a load was refused as the office reads it: a client's answer is kept as a code."""
    return None if kept is None else Reader("en").table("reason").get(kept, kept)


def refusal_code(kept: str | None) -> str | None:
    """Return which reason of the lists a load was refused for, by its code or by its words.

    Words are found in every language: a screen sends what it shows, and so does who copies it.
    """
    return None if kept is None else _codes().get(_plain(kept))


@cache
def _codes() -> dict[str, str]:
    found: dict[str, str] = {}
    for code in LANGUAGES:
        for table in ("reason", "load_reason"):
            for name, words in Reader(code).table(table).items():
                found |= {_plain(words): name, name: name}
    return found


def _plain(words: str) -> str:
    return " ".join(words.casefold().split()).rstrip(".")


def _moment(moment: datetime | str) -> datetime:
    return datetime.fromisoformat(moment) if isinstance(moment, str) else moment

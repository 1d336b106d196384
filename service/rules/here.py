"""The rulebook on one day at one place: who asks it says both once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.rules.lookup import LawFacts, Rulebook, Ruled, RuleValue


@dataclass(frozen=True, slots=True)
class RulesHere:
    """The rules of a day, by the calendar of whoever asks, at a place; empty: at any place."""

    book: Rulebook
    day: date
    jurisdiction: str

    def row(self, name: str, **case: str) -> RuleValue:
        """Return the row of a rule that speaks here, whomever it binds."""
        return self.book.value_on(name, self.day, jurisdiction=self.jurisdiction, **case)

    def value(self, name: str, **case: str) -> float:
        """Return the value of a rule here."""
        return self.row(name, **case).value

    def ruled(self, name: str, facts: LawFacts) -> Ruled:
        """Return the value of a rule where these facts are on record, and whether as law."""
        return self.book.ruled_on(name, self.day, facts)

"""A rulebook that remembers what was looked up in it: the "why" of an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any, Final, cast

from service.core.measures.estimates import Estimate, Factor
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.rules.rows import RuleValue

RULE: Final = ("name", "low", "likely", "high", "unit", "binds")
WHERE_AND_WHEN: Final = (
    "kind",
    "standing",
    "scope",
    "where",
    "jurisdiction",
    "since",
    "until",
    "sources",
)
YIELDS: Final = ("dry_matter_kg", "mass_kg", "volume_m3", "nitrogen_kg", "carbon_to_nitrogen")
WAIT: Final = ("destination", "days", "mowings", "composting_days", "never")


class LookedUp:
    """Looks values up for one day and place, and tells afterwards which ones."""

    def __init__(self, rulebook: Rulebook, *, day: date, jurisdiction: str | None) -> None:
        """Take the rulebook, the day that counts and the place (None: anywhere)."""
        self.rulebook = rulebook
        self.day = day
        self.jurisdiction = jurisdiction
        self._values: list[RuleValue] = []
        self._sources: set[str] = set()

    @property
    def here(self) -> RulesHere:
        """Return the rules of that day and place, to be asked without a memory."""
        return RulesHere(self.rulebook, self.day, self.jurisdiction or "")

    def rule(self, name: str, **case: str) -> RuleValue:
        """Return the value of a rule and remember it."""
        value = self.rulebook.value_on(name, self.day, jurisdiction=self.jurisdiction, **case)
        if value not in self._values:
            self._values.append(value)
        self._sources.update(value.sources)
        return value

    def estimate(self, name: str, **case: str) -> Estimate:
        """Return a rule's value as an estimate and remember it."""
        return self.rule(name, **case).estimate

    def cite(self, *keys: str) -> None:
        """Remember sources that came by another way than a rule."""
        self._sources.update(keys)

    def why(self) -> dict[str, object]:
        """Return the rules looked up, their sources in full, and the rulebook's version."""
        return {
            "rulebook_version": self.rulebook.version,
            "day": self.day.isoformat(),
            "jurisdiction": self.jurisdiction,
            "rules": [told_rule(value) for value in self._values],
            "sources": {key: told_source(self.rulebook, key) for key in sorted(self._sources)},
        }


def told(record: object, *names: str) -> dict[str, Any]:
    """Return a record JSON-ready: all its fields, or those that are named."""
    wanted = names or [one.name for one in fields(cast("Any", record))]
    return {name: _plain(getattr(record, name)) for name in wanted}


def _plain(value: Any) -> Any:  # noqa: ANN401 - any part of an answer
    if is_dataclass(value):
        return told(value)
    if isinstance(value, Mapping):
        return {name: _plain(one) for name, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, date):
        return value.isoformat()
    return value.value if isinstance(value, Enum) else value


def told_rule(value: RuleValue) -> dict[str, object]:
    """Return a rule's value, JSON-ready."""
    return told(value, *RULE, *WHERE_AND_WHEN) | {"case": dict(value.case)}


def told_source(rulebook: Rulebook, key: str) -> dict[str, object]:
    """Return a source in full, JSON-ready."""
    source = rulebook.sources[key]
    return told(source, "author", "year", "title", "address", "seen", "standing") | {
        "erratum": source.erratum or None,
        "note": source.note or None,
    }


def told_factor(factor: Factor) -> dict[str, object]:
    """Return a factor of an estimate, JSON-ready."""
    return {"name": factor.name, **told(factor.value)}

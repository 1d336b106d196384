"""A rulebook that remembers what was looked up in it: the "why" of an answer."""

from __future__ import annotations

from datetime import date

from service.core.estimates import Estimate, Factor
from service.rules.lookup import Rulebook
from service.rules.rows import RuleValue
from service.rules.treatments import WaitRow


class LookedUp:
    """Looks values up for one day and place, and tells afterwards which ones."""

    def __init__(self, rulebook: Rulebook, *, day: date, jurisdiction: str | None) -> None:
        """Take the rulebook, the day that counts and the place (None: anywhere)."""
        self.rulebook = rulebook
        self.day = day
        self.jurisdiction = jurisdiction
        self._values: list[RuleValue] = []
        self._sources: set[str] = set()

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


def told_rule(value: RuleValue) -> dict[str, object]:
    """Return a rule's value, JSON-ready."""
    return {
        "name": value.name,
        "case": dict(value.case),
        "low": value.low,
        "likely": value.likely,
        "high": value.high,
        "unit": value.unit,
        "kind": value.kind.value,
        "standing": value.standing.value,
        "scope": value.scope,
        "where": value.where,
        "jurisdiction": value.jurisdiction,
        "since": value.since.isoformat(),
        "until": value.until.isoformat() if value.until else None,
        "binds": None
        if value.binds is None
        else {
            "ground": list(value.binds.ground),
            "basis": list(value.binds.basis),
            "carriers": list(value.binds.carriers),
        },
        "sources": list(value.sources),
    }


def told_source(rulebook: Rulebook, key: str) -> dict[str, object]:
    """Return a source in full, JSON-ready."""
    source = rulebook.sources[key]
    return {
        "author": source.author,
        "year": source.year,
        "title": source.title,
        "address": source.address,
        "seen": source.seen.isoformat() if source.seen else None,
        "standing": source.standing,
        "erratum": source.erratum or None,
        "note": source.note or None,
    }


def told_wait(row: WaitRow) -> dict[str, object]:
    """Return a wait of the treatment table, JSON-ready."""
    return {
        "destination": row.destination,
        "days": row.days,
        "mowings": row.mowings,
        "composting_days": row.composting_days,
        "never": row.never,
        "kind": row.kind,
        "standing": row.standing,
        "scope": row.scope,
        "where": row.where,
        "jurisdiction": row.jurisdiction,
        "since": row.since.isoformat(),
        "until": row.until.isoformat() if row.until else None,
        "sources": list(row.sources),
    }


def told_estimate(estimate: Estimate) -> dict[str, object]:
    """Return an estimate, JSON-ready, with its basis and sources."""
    return {
        "low": estimate.low,
        "likely": estimate.likely,
        "high": estimate.high,
        "unit": estimate.unit,
        "basis": estimate.basis,
        "sources": list(estimate.sources),
    }


def told_factor(factor: Factor) -> dict[str, object]:
    """Return a factor of an estimate, JSON-ready."""
    return {"name": factor.name, **told_estimate(factor.value)}

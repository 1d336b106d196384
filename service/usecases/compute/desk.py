"""Ask a computation, and get its answer together with the rules and sources behind it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.core.errors import FieldFault, RecordMissing
from service.core.records import Clock
from service.rules.lookup import Kind, Rulebook, Standing
from service.usecases.compute.faults import faults_of
from service.usecases.compute.looked_up import (
    WAIT,
    WHERE_AND_WHEN,
    LookedUp,
    told,
    told_rule,
    told_source,
)

Computation = Callable[..., dict[str, object]]


@dataclass(frozen=True, kw_only=True, eq=False)
class RulebookDesk:
    """Answers questions that need no records: computations, rules and sources."""

    rulebook: Rulebook
    clock: Clock

    def compute(
        self,
        computation: Computation,
        values: Mapping[str, Any],
        *,
        day: date | None = None,
        jurisdiction: str | None = None,
    ) -> dict[str, object]:
        """Return ``{"result": ..., "why": ...}`` of a computation of this package.

        Parameters
        ----------
        computation
            A function of this package, such as `lots.estimate`.
        values
            Its keyword arguments.
        day
            The day whose rules count; None for today (UTC).
        jurisdiction
            ISO 3166 code whose law binds; None for nobody's.
        """
        looked_up = LookedUp(
            self.rulebook, day=day or self.clock.now().date(), jurisdiction=jurisdiction
        )
        result = computation(looked_up, **values)
        return {"result": result, "why": looked_up.why()}

    def faults(
        self,
        computation: Computation,
        values: Mapping[str, Any],
        *,
        day: date | None = None,
        jurisdiction: str | None = None,
    ) -> list[FieldFault]:
        """Return what is wrong with a computation's arguments together, as far as they are read."""
        looked_up = LookedUp(
            self.rulebook, day=day or self.clock.now().date(), jurisdiction=jurisdiction
        )
        return faults_of(looked_up, computation.__name__, values)

    def rules(
        self,
        *,
        names: Collection[str] = (),
        kinds: Collection[Kind] = (),
        standings: Collection[Standing] = (),
    ) -> list[dict[str, object]]:
        """Return the rows of rules, old ones too; of each empty filter any will do."""
        return [
            told_rule(row)
            for rule in self.rulebook.rules.values()
            for row in rule.rows
            if (not names or row.name in names)
            and (not kinds or row.kind in kinds)
            and (not standings or row.standing in standings)
        ]

    def rule(self, name: str) -> dict[str, object]:
        """Return every row of one rule, and its sources in full.

        Raises
        ------
        RecordMissing
        """
        rule = self.rulebook.rules.get(name)
        if rule is None:
            raise RecordMissing(record="rule", id=name)
        keys = {key for row in rule.rows for key in row.sources}
        return {
            "name": rule.name,
            "by": list(rule.by),
            "rows": [told_rule(row) for row in rule.rows],
            "sources": {key: told_source(self.rulebook, key) for key in sorted(keys)},
        }

    def sources(self) -> dict[str, dict[str, object]]:
        """Return every source in full, by its key."""
        return {key: told_source(self.rulebook, key) for key in sorted(self.rulebook.sources)}

    def source(self, key: str) -> dict[str, object]:
        """Return one source in full, and the rules that rest on it.

        Raises
        ------
        RecordMissing
        """
        if key not in self.rulebook.sources:
            raise RecordMissing(record="source", id=key)
        resting = [
            name
            for name, rule in sorted(self.rulebook.rules.items())
            if any(key in row.sources for row in rule.rows)
        ]
        return {"key": key, **told_source(self.rulebook, key), "rules": resting}

    def substances(
        self, *, day: date | None = None, jurisdiction: str | None = None
    ) -> dict[str, object]:
        """Return every active ingredient that is known, and its waits on a day and in a place."""
        on = day or self.clock.now().date()
        table = self.rulebook.treatments
        waits = {
            name: table.waits_on(name, on, jurisdiction=jurisdiction) for name in table.substances
        }
        keys = {key for rows in waits.values() for row in rows for key in row.sources}
        keys |= {one.cas_source for one in table.substances.values() if one.cas_source}
        return {
            "rulebook_version": self.version,
            "day": on.isoformat(),
            "jurisdiction": jurisdiction,
            "items": [
                {
                    "name": substance.name,
                    "cas": substance.cas,
                    "cas_source": substance.cas_source,
                    "group": substance.group,
                    "also_called": list(substance.also_called),
                    "waits": [told(row, *WAIT, *WHERE_AND_WHEN) for row in waits[name]],
                }
                for name, substance in table.substances.items()
            ],
            "sources": {key: told_source(self.rulebook, key) for key in sorted(keys)},
        }

    @property
    def version(self) -> str:
        """Return the rulebook's version."""
        return self.rulebook.version

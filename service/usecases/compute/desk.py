"""Ask a computation, and get its answer together with the rules and sources behind it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from service.core.records import Clock
from service.rules.lookup import Rulebook
from service.usecases.compute.looked_up import LookedUp, told_rule, told_source

Computation = Callable[..., dict[str, object]]


class RulebookDesk:
    """Answers questions that need no records: computations, rules and sources."""

    def __init__(self, *, rulebook: Rulebook, clock: Clock) -> None:
        """Take the rulebook, and the clock for questions that name no day."""
        self._rulebook = rulebook
        self._clock = clock

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
            self._rulebook, day=day or self._clock.now().date(), jurisdiction=jurisdiction
        )
        result = computation(looked_up, **values)
        return {"result": result, "why": looked_up.why()}

    def rules(self) -> list[dict[str, object]]:
        """Return every row of every rule, old ones too."""
        return [told_rule(row) for rule in self._rulebook.rules.values() for row in rule.rows]

    def sources(self) -> dict[str, dict[str, object]]:
        """Return every source in full, by its key."""
        return {key: told_source(self._rulebook, key) for key in self._rulebook.sources}

    @property
    def version(self) -> str:
        """Return the rulebook's version."""
        return self._rulebook.version

"""Whether a client agreed to receive clippings on a bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.core.errors import FieldFault
from service.core.measures.units import date_words


class ConsentState(StrEnum):
    """Whether the client agreed to receive clippings on this bed."""

    GIVEN = "given"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"
    NOT_ASKED = "not_asked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """A client's standing consent for one bed, the most and the least at a time, and in a month."""

    state: ConsentState = ConsentState.NOT_ASKED
    given_on: date | None = None
    expires_on: date | None = None
    mass_per_visit_max_kg: float | None = None
    mass_per_visit_min_kg: float | None = None
    mass_per_month_max_kg: float | None = None

    def faults(self) -> Sequence[FieldFault]:
        """Return what contradicts itself, as it stands in a bed: the masses, the days."""
        found = []
        most_kg, least_kg = self.mass_per_visit_max_kg, self.mass_per_visit_min_kg
        if most_kg is not None and least_kg is not None and least_kg > most_kg:
            detail = f"The least at a time is no more than the most, {most_kg:g} kg."
            found.append(FieldFault(pointer="/consent/mass_per_visit_min_kg", detail=detail))
        month_kg = self.mass_per_month_max_kg
        if month_kg is not None and least_kg is not None and least_kg > month_kg:
            detail = (
                f"The least at a time is {least_kg:g} kg: a month with less room has no visit. "
                "Write as much or more, or another least."
            )
            found.append(FieldFault(pointer="/consent/mass_per_month_max_kg", detail=detail))
        first, last = self.given_on, self.expires_on
        if first is not None and last is not None and last < first:
            detail = f"Not before the day it was given, {date_words(first)}."
            found.append(FieldFault(pointer="/consent/expires_on", detail=detail))
        return found


# What a bed has on record as long as nobody asked.
NOT_ASKED = Consent()

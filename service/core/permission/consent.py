"""Whether a client agreed to receive clippings on a bed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class ConsentState(StrEnum):
    """Whether the client agreed to receive clippings on this bed."""

    GIVEN = "given"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"
    NOT_ASKED = "not_asked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """A client's standing consent for one bed, and the most and the least at a time."""

    state: ConsentState = ConsentState.NOT_ASKED
    given_on: date | None = None
    expires_on: date | None = None
    mass_per_visit_max_kg: float | None = None
    mass_per_visit_min_kg: float | None = None


# What a bed has on record as long as nobody asked.
NOT_ASKED = Consent()

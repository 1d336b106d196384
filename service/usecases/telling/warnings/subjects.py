"""Whom and what a warning is about, by name: whose lawn, which place, which vehicle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from service.usecases.day.facts import DayFacts

MOST_NAMED: Final = 3
MARK: Final = "; "


class Subjects:
    """The names of a day's lawns, places and vehicles, by the ids that a warning has."""

    def __init__(self, facts: DayFacts) -> None:
        """Take the day."""
        self._lawns = {
            job.id: facts.properties[job.property_id].name for job in facts.known_jobs.values()
        }
        self._places = {place.id: place.name for some in facts.places.values() for place in some}
        self._vehicles = {one.id: one.registration for one in facts.vehicles.values()}
        self._held = {
            grass.entry.id: (grass.entry.hold_bay_id, [job.id for job in grass.jobs])
            for grass in facts.held
        }

    def of(
        self,
        *,
        job_ids: Iterable[UUID] = (),
        destination_id: UUID | None = None,
        vehicle_id: UUID | None = None,
        hold_entry_id: UUID | None = None,
    ) -> tuple[str, ...]:
        """Return the names: lawns, then the place, then the vehicle; none for what is gone."""
        jobs = list(job_ids)
        if hold_entry_id in self._held:
            destination_id, jobs = self._held[hold_entry_id]
        lawns = dict.fromkeys(self._lawns[job_id] for job_id in jobs if job_id in self._lawns)
        parts = (
            named(list(lawns)),
            self._places.get(destination_id) if destination_id else None,
            self._vehicles.get(vehicle_id) if vehicle_id else None,
        )
        return tuple(part for part in parts if part)

    def of_warning(self, warning: Mapping[str, Any]) -> tuple[str, ...]:
        """Return the names of whom a warning is about."""
        jobs = [*warning.get("job_ids", ()), *filter(None, [warning.get("job_id")])]
        ids = {
            name: _id(warning.get(name))
            for name in ("destination_id", "vehicle_id", "hold_entry_id")
        }
        return self.of(job_ids=[UUID(job_id) for job_id in jobs], **ids)


def named(names: Sequence[str], *, most: int = MOST_NAMED) -> str:
    """Return names in a row; of many the first, and how many more there are."""
    more = len(names) - most
    if more <= 1:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {more} more"


def unsaid(subject: Iterable[str], sentence: str) -> tuple[str, ...]:
    """Return those names that a sentence does not say itself."""
    return tuple(part for part in subject if part not in sentence)


def _id(text: object) -> UUID | None:
    return None if text is None else UUID(str(text))

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
        destination_ids: Iterable[UUID] = (),
        vehicle_ids: Iterable[UUID] = (),
        hold_entry_ids: Iterable[UUID] = (),
    ) -> tuple[str, ...]:
        """Return the names: lawns, then places, then vehicles; none for what is gone."""
        held = [self._held[one] for one in hold_entry_ids if one in self._held]
        jobs = [*job_ids, *(job_id for _, job_ids in held for job_id in job_ids)]
        places = [*destination_ids, *(bay_id for bay_id, _ in held)]
        names = (
            [self._lawns[one] for one in jobs if one in self._lawns],
            [self._places[one] for one in places if one in self._places],
            [self._vehicles[one] for one in vehicle_ids if one in self._vehicles],
        )
        return tuple(named(list(dict.fromkeys(some))) for some in names if some)

    def of_warning(self, warning: Mapping[str, Any]) -> tuple[str, ...]:
        """Return the names of whom a warning is about."""
        jobs = [*warning.get("job_ids", ()), *filter(None, [warning.get("job_id")])]
        return self.of(
            job_ids=[UUID(job_id) for job_id in jobs],
            destination_ids=_ids(warning, "destination_id"),
            vehicle_ids=_ids(warning, "vehicle_id"),
            hold_entry_ids=_ids(warning, "hold_entry_id"),
        )


def named(names: Sequence[str], *, most: int = MOST_NAMED) -> str:
    """Return names in a row; of many the first, and how many more there are."""
    more = len(names) - most
    if more <= 1:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {more} more"


def unsaid(subject: Iterable[str], sentence: str) -> tuple[str, ...]:
    """Return those names that a sentence does not say itself."""
    return tuple(
        part
        for part in subject
        if part not in sentence and not all(name in sentence for name in part.split(", "))
    )


def _ids(warning: Mapping[str, Any], name: str) -> list[UUID]:
    return [UUID(str(one)) for one in [warning.get(name)] if one is not None]

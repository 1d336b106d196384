"""What is wrong with what is supposed of a day: ids that it does not have, contradictions."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import time
from typing import Any, Final
from uuid import UUID

from service.core.errors import FieldFault
from service.core.jobs import JobState
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.planning.supposed.work import crew_of
from service.usecases.planning.suppositions import stranger

# Where ids are named, and in which books they are looked for; * is each of a list.
NAMES: Final = {
    "closed_site_ids/*": "sites",
    "site_capacities/*/compost_site_id": "sites",
    "lost_vehicle_ids/*": "vehicles",
    "refusing_bed_ids/*": "beds",
    "added_bed/property_id": "properties",
    "added_jobs/*/lawn_id": "lawns",
    "added_jobs/*/vehicle_id": "vehicles",
    "added_jobs/*/crew_id": "crews",
    "hired_vehicles/*/job_ids/*": "jobs_ahead",
    "left_on_lawn_job_ids/*": "jobs_ahead",
    "untreated_job_ids/*": "jobs",
}
MOST_NAMED: Final = 200
_TAKEN: Final = "/hired_vehicles/"


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposed:
    """What is supposed, as far as it can be read.

    Attributes
    ----------
    sent
        All of it as JSON: ids are looked for in it.
    added_jobs
        The jobs more; what cannot be read of one is left out.
    """

    sent: object
    added_jobs: Sequence[Mapping[str, Any]]
    shift_ends: time | None


def supposed_faults(unit: UnitOfWork, facts: DayFacts, supposed: Supposed) -> list[FieldFault]:
    """Return what names nothing of the day, or contradicts it: all of it at once."""
    named = [*_named(supposed.sent)]
    known = _known(unit, facts, named)
    taken = Counter(one for _, pointer, one in named if pointer.startswith(_TAKEN))
    found = []
    for books, pointer, one in named:
        if one not in known[books]:
            found.append(stranger(pointer, one))
        elif pointer.startswith(_TAKEN) and taken[one] > 1:
            found.append(FieldFault(pointer=pointer, detail="One vehicle does a job."))
    for number, added in enumerate(supposed.added_jobs):
        found += _of_added_job(facts, added, pointer=f"/added_jobs/{number}")
    ends = supposed.shift_ends
    if ends is not None and ends <= facts.depot.shift_starts:
        found.append(FieldFault(pointer="/shift_ends", detail="The shift ends after it starts."))
    return found


def _of_added_job(
    facts: DayFacts, added: Mapping[str, Any], *, pointer: str
) -> Iterator[FieldFault]:
    vehicle_id, at = added.get("vehicle_id"), added.get("planned_at")
    if vehicle_id in facts.vehicles and crew_of(facts, vehicle_id, added.get("crew_id")) is None:
        detail = "No crew has this vehicle on the day, or usually: name the crew."
        yield FieldFault(pointer=f"{pointer}/crew_id", detail=detail, code="required")
    if at is not None and not facts.span.start <= at < facts.span.end:
        detail = "A supposed job is on the day that is supposed."
        yield FieldFault(pointer=f"{pointer}/planned_at", detail=detail)


def _known(
    unit: UnitOfWork, facts: DayFacts, named: Sequence[tuple[str, str, UUID]]
) -> dict[str, Collection[UUID]]:
    """Return by books the ids that the day has, or the firm where a day has no such records."""
    ids: dict[str, list[UUID]] = defaultdict(list)
    for books, _, one in named:
        ids[books].append(one)
    firm_id = facts.depot.firm_id
    return {
        "sites": {site.id for site in facts.sites},
        "beds": {bed.id for bed in facts.beds},
        "vehicles": facts.vehicles,
        "crews": facts.crews,
        "jobs": {job.id for job in facts.jobs},
        "jobs_ahead": {job.id for job in facts.jobs if job.state is JobState.PLANNED},
        "properties": {*facts.properties, *unit.properties.get_many(firm_id, ids["properties"])},
        "lawns": unit.lawns.get_many(firm_id, ids["lawns"]),
    }


def _named(sent: object) -> Iterator[tuple[str, str, UUID]]:
    """Yield every id that can be read: books, pointer, id."""
    for way, books in NAMES.items():
        for pointer, value in _along(sent, way.split("/"), ""):
            with suppress(ValueError):
                yield books, pointer, UUID(value)


def _along(value: object, way: Sequence[str], pointer: str) -> Iterator[tuple[str, str]]:
    if not way:
        if isinstance(value, str):
            yield pointer, value
    elif way[0] == "*" and isinstance(value, list):
        for number, item in enumerate(value[:MOST_NAMED]):
            yield from _along(item, way[1:], f"{pointer}/{number}")
    elif isinstance(value, Mapping) and way[0] in value:
        yield from _along(value[way[0]], way[1:], f"{pointer}/{way[0]}")

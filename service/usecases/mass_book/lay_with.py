"""Which lots lay in one body, from when on each counts as another: by their stays in bodies.

A stay is kept as anything leaves its body, so that it is known of what left before a report came.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import Load
from service.core.mass_book import BodyStay
from service.core.reports import ReportedPart
from service.usecases.base.ports import UnitOfWork
from service.usecases.mass_book.aboard import parts_aboard
from service.usecases.mass_book.movements import is_bagged

Body = dict[ReportedPart, datetime]
"""What lay in a body, and since when."""


def lay_with(
    unit: UnitOfWork, firm_id: UUID, lots: Collection[Job]
) -> tuple[Mapping[UUID, Job], Mapping[UUID, datetime]]:
    """Return the lots that lay in one body with any of some, and since when each counts as mixed.

    With one that lay with one of them, and then with a third, the third counts too. Of a lot that
    the office said was kept apart, neither does it count nor what lay with it alone. A lot of which
    some was tipped before that hour, in whatever body or bay, is mixed only in what is left of it.
    """
    since = unit.body_stays.mixed_since(firm_id, sorted(job.id for job in lots))
    return unit.jobs.get_many(firm_id, sorted(since)), since


def bodies_of(unit: UnitOfWork, load: Load, at: datetime) -> dict[UUID, Body]:
    """Return what lay in each body that a load is out of, before it is written, by vehicle.

    What its vehicle had out of a bay, or out of another one's body, at an hour that nobody said,
    lay in its own at least as it was tipped.
    """
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    fresh = [jobs[part.job_id] for part in load.parts if part.hold_entry_id is None]
    vehicles = {load.vehicle_id, *(job.vehicle_id for job in fresh)}
    bodies = {
        vehicle_id: parts_aboard(unit, load.firm_id, vehicle_id, at)
        for vehicle_id in sorted(vehicles)
    }
    for part in load.parts:
        brought = ReportedPart(job_id=part.job_id, hold_entry_id=part.hold_entry_id)
        bodies[load.vehicle_id].setdefault(brought, at)
    return bodies


def keep_stays(
    unit: UnitOfWork, firm_id: UUID, vehicle_id: UUID, body: Body, *, until: datetime
) -> None:
    """Keep what lay in a body, as something leaves it."""
    unit.body_stays.keep(
        [
            BodyStay(
                firm_id=firm_id,
                vehicle_id=vehicle_id,
                job_id=part.job_id,
                since=since,
                until=max(since, until),
            )
            for part, since in body.items()
        ]
    )


def follow_stays(unit: UnitOfWork, pairs: Sequence[tuple[Job, Job]]) -> None:
    """Let stays be of the body and the cut that amended jobs name, or of none.

    Parameters
    ----------
    pairs
        Each job as it was and as it is, of which none was forked over.
    """
    moved = {
        new.id: (old, new)
        for old, new in pairs
        if (old.vehicle_id, old.at, is_bagged(old)) != (new.vehicle_id, new.at, is_bagged(new))
    }
    if not moved:
        return
    firm_id = next(iter(moved.values()))[1].firm_id
    kept = unit.body_stays.of_lots(firm_id, sorted(moved))
    if not kept:
        return
    unit.body_stays.forget(firm_id, sorted(moved))
    after = (_followed(stay, *moved[stay.job_id]) for stay in kept)
    unit.body_stays.keep([stay for stay in after if stay is not None])


def _followed(stay: BodyStay, old: Job, new: Job) -> BodyStay | None:
    """Return a stay as an amended job has it; None if that never was."""
    is_there, is_of_cut = stay.vehicle_id == old.vehicle_id, stay.since == old.at
    if is_there and not is_of_cut and old.vehicle_id != new.vehicle_id:
        return None  # it was said to be forked over into that body, and was not
    stay = replace(
        stay,
        vehicle_id=new.vehicle_id if is_there else stay.vehicle_id,
        since=new.at if is_of_cut else stay.since,
    )
    return stay if is_bagged(new) and stay.since <= stay.until else None

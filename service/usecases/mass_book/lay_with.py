"""Which lots lay in one body, and from when on each counts as another."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from uuid import UUID

from service.core.jobs import Job
from service.usecases.base.ports.unit_of_work import UnitOfWork


def lay_with(
    unit: UnitOfWork, firm_id: UUID, lots: Collection[Job]
) -> tuple[Mapping[UUID, Job], Mapping[UUID, datetime]]:
    """Return the lots that lay in one body with any of some, and since when each counts as mixed.

    With one that lay with one of them, and then with a third, the third counts too. Of a lot that
    the office said was kept apart, neither does it count nor what lay with it alone. A lot of which
    some was tipped before that hour is mixed only in what was left of it.
    """
    since = unit.body_stays.mixed_since(firm_id, sorted(job.id for job in lots))
    return unit.jobs.get_many(firm_id, sorted(since)), since

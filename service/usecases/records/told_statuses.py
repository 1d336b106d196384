"""Lists of jobs by the status they are told with: what is kept as clean may be sour by now."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Protocol
from uuid import UUID

from service.core.jobs import Job
from service.core.materials import LotStatus
from service.usecases.base.calendar import MAY_BE_SOUR
from service.usecases.base.ports.unit_of_work import Page

STATUS: Final = "status"
# Kept as the same: worse grass stays what it is, however long it stands.
CLEAN_OR_SOUR: Final = frozenset({LotStatus.CLEAN, LotStatus.SOUR})


class ReadsPages(Protocol):
    """Reads a page of jobs as they are told, found by what is kept of them."""

    def __call__(
        self, *, filters: Mapping[str, object], after: UUID | None, limit: int
    ) -> Page[Job]:
        """Return the page."""
        ...


def page_as_told(
    read: ReadsPages,
    *,
    filters: Mapping[str, object],
    after: UUID | None = None,
    limit: int = 50,
) -> Page[Job]:
    """Return a page of jobs whose statuses, as they are told, are those that are asked for."""
    asked: Any = filters.get(STATUS, ())
    wanted = set(asked if isinstance(asked, tuple | list) else (asked,))
    if LotStatus.SOUR in wanted:
        kept = tuple((wanted | {LotStatus.CLEAN}) - {LotStatus.SOUR})
        filters = {**filters, STATUS: kept}
        if LotStatus.CLEAN not in wanted:
            filters = {**filters, MAY_BE_SOUR: tuple(wanted - {LotStatus.SOUR})}
    if len(wanted & CLEAN_OR_SOUR) != 1:
        return read(filters=filters, after=after, limit=limit)
    found: list[Job] = []
    page = read(filters=filters, after=after, limit=limit)
    while True:
        found += [job for job in page.records if job.status in wanted]
        if page.next_after is None or len(found) > limit:
            break
        page = read(filters=filters, after=page.next_after, limit=limit)
    more = len(found) > limit
    return Page(records=tuple(found[:limit]), next_after=found[limit - 1].id if more else None)

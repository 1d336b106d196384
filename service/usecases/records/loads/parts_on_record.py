"""What a tip names, by the lots on record: a cut may be named by its report."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from uuid import UUID

from service.core.reports import ReportedPart
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.visits import lot_ids


def parts_on_record(
    unit: UnitOfWork, firm_id: UUID, told: Sequence[ReportedPart]
) -> tuple[ReportedPart, ...]:
    """Return parts of lots by the ids these are kept under, not those of their reports."""
    known = lot_ids(unit, firm_id, sorted({part.job_id for part in told}))
    parts: list[ReportedPart] = []
    said: dict[UUID, set[UUID]] = defaultdict(set)
    for part in told:
        if part.hold_entry_id is not None:
            parts.append(part)
            continue
        lot_id = known.get(part.job_id, part.job_id)
        same = next((one for one in parts if one.lot_id == lot_id), None)
        is_said = part.job_id in said[lot_id]
        both = None if same is None or is_said else _together(same, part)
        if same is None or both is None:
            parts.append(replace(part, job_id=lot_id))
        else:
            parts[parts.index(same)] = both
        said[lot_id].add(part.job_id)
    return tuple(parts)


def _together(one: ReportedPart, two: ReportedPart) -> ReportedPart | None:
    """Return the part of a lot that was named by its cut, and by what may be the same cut.

    The larger one: it is the same grass, said twice. None if they cannot be compared.
    """
    for part in (one, two):
        if part.share is None and part.mass is None:
            return replace(part, job_id=one.job_id)
    if one.share is not None and two.share is not None:
        return replace(one, share=max(one.share, two.share))
    if one.mass is not None and two.mass is not None:
        return replace(one, mass=max(one.mass, two.mass, key=lambda mass: mass.si_value))
    return None

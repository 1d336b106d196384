"""A lot that is said to be in another body: forked over, or never in the one on record."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from service.core.errors import Refusal
from service.core.jobs import Job
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import parts_aboard
from service.usecases.mass_book.movements import is_bagged


class ForkedOverOrCorrected(Refusal):
    """Which of both it was decides with what the lot was mixed."""

    code = "forked_over_or_corrected"
    sentence = (
        "{lot} is aboard with other grass ({others}), or would be. If it was forked over, report "
        "it as given (POST /reports): what it lay with counts then. If it never was in the vehicle "
        "on record, the office says so, and why (POST /jobs/{job_id}/decisions, never_aboard, with "
        "the vehicle_id it was in): then it lay with nothing there."
    )


def refuse_moved(
    unit: UnitOfWork, pairs: Iterable[tuple[Job, Job]], now: datetime, *, is_told: bool
) -> None:
    """Refuse to move a lot out of a body, or into one, with other grass in it, without a word.

    A reason in free words is none of both: what it lay with would be forgotten by it.

    Parameters
    ----------
    is_told
        Whether it is said when it was forked over, or that it never was there.

    Raises
    ------
    ForkedOverOrCorrected
    """
    moved = [(old, new) for old, new in pairs if old.vehicle_id != new.vehicle_id]
    ids = {old.id for old, _ in moved}
    for old, new in moved if not is_told else ():
        if not (is_bagged(old) and is_bagged(new)):
            continue
        there = parts_aboard(unit, old.firm_id, old.vehicle_id, now)
        if all(part.job_id != old.id for part in there):
            continue
        beside = {*there, *parts_aboard(unit, old.firm_id, new.vehicle_id, now)}
        others = sorted({part.job_id for part in beside} - ids)
        if others:
            jobs = unit.jobs.get_many(old.firm_id, others)
            codes = ", ".join(sorted(job.lot_code for job in jobs.values()))
            raise ForkedOverOrCorrected(lot=old.lot_code, others=codes, job_id=old.id)

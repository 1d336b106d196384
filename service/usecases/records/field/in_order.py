"""In which order the reports of a batch happened: by their hours, an undo before what replaces it.

Whoever corrects a tip takes it back late, and tells the hour at which it truly was.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.reports import Report, ReportKind
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.records.field.undo import key_of

# Told and answered: when it happened by our clock, its place in the batch, and what it says.
Told = tuple[datetime, int, Report]
TIPS: Final = frozenset({ReportKind.TIPPED, ReportKind.PART_TAKEN, ReportKind.REFUSED})
FIRST: Final = datetime.min.replace(tzinfo=UTC)


def in_order(open_reading: OpenUnitOfWork, caller: Caller, told: Sequence[Told]) -> list[Told]:
    """Return reports in the order of happening; the undo of a tip at once after the tip itself.

    Of a tip that was sent in a batch before, that is before all others.
    """
    tips = {report.id: at for at, _, report in told if report.kind in TIPS}
    undos = {report.undoes for _, _, report in told if report.undoes is not None}
    before = _tips_before(open_reading, caller, undos - tips.keys())

    def when(one: Told) -> tuple[datetime, bool, datetime, int]:
        at, index, report = one
        undone = report.undoes if report.kind is ReportKind.UNDO else None
        if undone in before:
            return FIRST, False, at, index
        if undone in tips:
            # Never before what it takes back, whatever the hours say.
            return tips[undone], True, at, index
        return at, False, at, index

    return sorted(told, key=when)


def _tips_before(
    open_reading: OpenUnitOfWork, caller: Caller, report_ids: set[UUID]
) -> set[UUID | None]:
    """Return those of some reports that are on record as tips."""
    if not report_ids:
        return set()
    with open_reading() as unit:
        kept = {one: unit.answers.get(caller.firm_id, key_of(one)) for one in report_ids}
    return {
        one
        for one, answer in kept.items()
        if answer is not None
        and answer.body is not None
        and ReportKind(json.loads(answer.body)["kind"]) in TIPS
    }

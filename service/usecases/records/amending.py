"""What the history of a record says of its versions: who changed what, when and why.

And what nobody changes without saying why.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Final
from uuid import UUID

from service.core.callers.access import Act, Amendment, Caller, refuse_unless_allowed
from service.core.errors import WITH_A_REASON, Refusal
from service.core.jobs import Job, JobState
from service.core.materials import STATUS_ORDER, LotStatus
from service.core.records import AnyRecord
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Stamp

SITE_LINK: Final = "site_link"
# What nobody knew anybody may learn.
NOBODY_KNEW: Final = "treatment_history_unknown"


class TaintOnRecord(Refusal):
    """Clippings would be cleaner by an amendment of their job."""

    code = "taint_on_record"
    sentence = (
        "{lot} is on record as {taints}, and would not be by this. If it never was so, "
        f"{WITH_A_REASON}: it is kept."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Change(Amendment):
    """A change with the role of who said so: of a key, a seat, or the link of a site."""

    said_by: str | None = None


def changes_of(unit: UnitOfWork, firm_id: UUID, record_id: UUID) -> list[Amendment]:
    """Return the changes of a record, oldest first, each with who said so."""
    roles = {key.id: key.role.value for key in unit.api_keys.all(firm_id)}
    roles |= {one.id: one.seat.value for one in unit.sessions.all(firm_id)}
    roles |= dict.fromkeys(links_of(unit, firm_id), SITE_LINK)
    return [
        Change(
            **{one.name: getattr(said, one.name) for one in fields(said)},
            said_by=None if said.key_id is None else roles.get(said.key_id),
        )
        for said in unit.amendments.of(firm_id, record_id)
    ]


def links_of(unit: UnitOfWork, firm_id: UUID) -> set[UUID]:
    """Return the ids under which what was said by the links of sites is kept."""
    return {one.id for one in unit.sessions.all(firm_id) if one.by_link}


def amendment_of(kind: str, old: AnyRecord, new: AnyRecord, stamp: Stamp) -> Amendment:
    """Return what a record's history says of its new version: who changed what, when and why.

    Parameters
    ----------
    kind
        The repository that keeps such records.
    """
    return Amendment(
        id=stamp.identifiers.next_id(),
        firm_id=new.firm_id,
        record_kind=kind,
        record_id=new.id,
        record_version=new.version,
        at=stamp.now,
        key_id=stamp.key_id,
        reason=stamp.reason,
        changes=changed_fields(old, new),
    )


def write_over(unit: UnitOfWork, kind: str, old: AnyRecord, new: AnyRecord, stamp: Stamp) -> None:
    """Write a record's next version over what it was, and what was changed into its history."""
    unit.repository(kind).replace(new, expected_version=new.version - 1)
    unit.amendments.add(amendment_of(kind, old, new, stamp))


def deletion_of(kind: str, record: AnyRecord, stamp: Stamp) -> Amendment:
    """Return what the history says of a record that is deleted: all it held, and nothing after."""
    gone = amendment_of(kind, record, replace(record, version=record.version + 1), stamp)
    left_out = {"id", "firm_id", "version", "created_at", "updated_at"}
    held: dict[str, object] = {
        one.name: [getattr(record, one.name), None]
        for one in fields(record)
        if one.name not in left_out and getattr(record, one.name) is not None
    }
    return replace(gone, changes=held)


def changed_fields(old: AnyRecord, new: AnyRecord) -> dict[str, object]:
    """Return field -> [was, became] for what differs, bookkeeping fields left out."""
    return {
        one.name: [getattr(old, one.name), getattr(new, one.name)]
        for one in fields(old)
        if one.name not in {"version", "updated_at"}
        and getattr(old, one.name) != getattr(new, one.name)
    }


def refuse_cleaner(caller: Caller, pairs: Iterable[tuple[Job, Job]], reason: str | None) -> None:
    """Refuse, but to the office with a reason, that a taint on record is none.

    Who mows sees what was only expected of a planned job, and whoever reported a cut may say that
    there was none. Else what was cut is not planned again without a word: it would be expected
    only, and the next cut would forget it.

    Parameters
    ----------
    pairs
        Each job as it was and as it would be, both with their findings.

    Raises
    ------
    NotAllowed, TaintOnRecord
    """
    for old, new in pairs:
        lost = _lost(old, new)
        if not lost:
            continue
        taints = " and ".join(_word(status) for status in STATUS_ORDER if status in lost)
        deed = f"take back that clippings are {taints}"
        refuse_unless_allowed(caller.role, Act.PLAN, deed=deed)
        if not reason:
            raise TaintOnRecord(lot=new.lot_code, taints=taints)


def _lost(old: Job, new: Job) -> set[LotStatus]:
    """Return the taints of what was cut that would not stand by an amendment."""
    if old.state is JobState.PLANNED or old.cut_at is None:
        return set()
    if new.state is not JobState.PLANNED:
        return _taints(old) - _taints(new)
    is_report_taken_back = old.reported_as_id is not None and new.reported_as_id is None
    return set() if is_report_taken_back else _taints(old)


def _taints(job: Job) -> set[LotStatus]:
    return {finding.status for finding in job.findings if finding.code != NOBODY_KNEW}


def _word(status: LotStatus) -> str:
    unknown = status is LotStatus.UNKNOWN
    return "treated with something unknown" if unknown else status.value

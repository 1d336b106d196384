"""What the use cases need from outside: kept records, a unit of work, distances."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from types import TracebackType
from typing import Any, Generic, Protocol, Self
from uuid import UUID

from service.core.access import Amendment
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.jobs import Job
from service.core.loads import HoldEntry, Load
from service.core.notes import DeliveryNote
from service.core.places import Bed, Client, CompostSite, Depot, HoldBay, Lawn, Property
from service.core.plans import DayPlan, WorkingDay
from service.core.records import AnyRecord
from service.core.treatments import Treatment
from service.usecases.base.directory import ApiKeyRepository, FirmRepository, SessionRepository
from service.usecases.base.ticket_parts import TicketPartRepository


@dataclass(frozen=True, slots=True, kw_only=True)
class Page(Generic[AnyRecord]):
    """One page of a list, ordered by id, and where the next begins (None at the end)."""

    records: tuple[AnyRecord, ...]
    next_after: UUID | None


class Repository(Protocol[AnyRecord]):
    """Kept records of one kind; every call names the firm, and sees no other's."""

    def get(self, firm_id: UUID, record_id: UUID) -> AnyRecord | None:
        """Return the record, or None if the firm has none with this id."""
        ...

    def get_many(self, firm_id: UUID, ids: Sequence[UUID]) -> dict[UUID, AnyRecord]:
        """Return those of the records that exist, by id, in a bounded number of statements."""
        ...

    def page(
        self,
        firm_id: UUID,
        *,
        filters: Mapping[str, object],
        after: UUID | None,
        limit: int,
    ) -> Page[AnyRecord]:
        """Return a page ordered by id; a filter is field -> value (or tuple of values: any of)."""
        ...

    def all(self, firm_id: UUID, **filters: object) -> list[AnyRecord]:
        """Return every record that matches, ordered by id, in one statement."""
        ...

    def count(self, firm_id: UUID, **filters: object) -> int:
        """Return how many match."""
        ...

    def add(self, record: AnyRecord) -> None:
        """Keep a new record. Raises RecordExists when the id is taken."""
        ...

    def add_many(self, records: Sequence[AnyRecord]) -> None:
        """Keep many new records with few statements."""
        ...

    def replace(self, record: AnyRecord, *, expected_version: int) -> None:
        """Write a new version. Raises VersionOvertaken when the kept one is not the expected."""
        ...

    def replace_many(self, records: Sequence[AnyRecord]) -> None:
        """Write new versions, each over the one before it, with few statements.

        Raises VersionOvertaken when a kept one is not the one before.
        """
        ...

    def remove(self, firm_id: UUID, record_id: UUID) -> None:
        """Delete the record. Raises RecordMissing, and RecordInUse when others name it."""
        ...


class JobRepository(Repository[Job], Protocol):
    """Jobs, and the two questions planning asks of them."""

    def of_day(self, firm_id: UUID, depot_id: UUID, start: datetime, end: datetime) -> list[Job]:
        """Return jobs of a depot cut or planned in [start, end), by time and id, none cancelled."""
        ...

    def mowings_since(
        self, firm_id: UUID, lawn_ids: Sequence[UUID], since: date
    ) -> dict[UUID, list[datetime]]:
        """Return the times of mown jobs by lawn since the day, ascending."""
        ...


class LoadRepository(Repository[Load], Protocol):
    """Loads, and the ledger question."""

    def delivered_to(
        self, firm_id: UUID, destination_ids: Sequence[UUID], since: datetime
    ) -> dict[UUID, list[Load]]:
        """Return loads that were delivered (or partly refused) there, done since then."""
        ...


class WorkingDayRepository(Repository[WorkingDay], Protocol):
    """Days and their revisions."""

    def of(self, firm_id: UUID, depot_id: UUID, day: date) -> WorkingDay | None:
        """Return the working day, or None."""
        ...

    def ensure(self, working_day: WorkingDay) -> None:
        """Keep the day, unless the depot's day is kept already (also by a rival just now)."""
        ...

    def bump(
        self, firm_id: UUID, *, depot_id: UUID | None, from_day: date, to_day: date | None
    ) -> None:
        """Count one more event on the kept days of one depot (None: all) in [from_day, to_day]."""
        ...

    def mark_planned(self, working_day: WorkingDay, *, revision: int, plan_id: UUID) -> bool:
        """Note that the plan covers the revision, if the day is still at it; False if overtaken."""
        ...


class DayPlanRepository(Repository[DayPlan], Protocol):
    """Plans of days."""

    def latest(self, firm_id: UUID, depot_id: UUID, day: date) -> DayPlan | None:
        """Return the newest plan of the depot's day."""
        ...


class NoteRepository(Repository[DeliveryNote], Protocol):
    """Notes and their numbers."""

    def next_number(self, firm_id: UUID, year: int) -> int:
        """Return the next running number of the firm's year, never given twice."""
        ...

    def find(self, note_id: UUID) -> DeliveryNote | None:
        """Return a note by id alone: for the signed link, whose signature is the key."""
        ...


class AmendmentRepository(Protocol):
    """The trail of changes."""

    def add(self, amendment: Amendment) -> None:
        """Keep one."""
        ...

    def of(self, firm_id: UUID, record_id: UUID) -> list[Amendment]:
        """Return the changes of a record, oldest first."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAnswer:
    """The first answer to an idempotency key; ``status`` is None while it is being made.

    ``seed_id`` is where the ids of the first try came from, so that a retry after a
    crash makes the same records and not a second set.
    """

    firm_id: UUID
    key: str
    request_sha256: str
    seed_id: UUID
    started_at: datetime
    status: int | None = None
    headers: dict[str, str] | None = None
    body: bytes | None = None


class AnswerRepository(Protocol):
    """Answers kept for idempotency keys."""

    def get(self, firm_id: UUID, key: str) -> KeptAnswer | None:
        """Return what is kept for the key."""
        ...

    def begin(self, answer: KeptAnswer) -> bool:
        """Keep an unfinished answer; False if the key is taken (also by a rival just now)."""
        ...

    def restart(self, answer: KeptAnswer, *, started_at: datetime) -> bool:
        """Take over an unfinished answer; False if somebody else just did."""
        ...

    def finish(
        self, firm_id: UUID, key: str, *, status: int, headers: Mapping[str, str], body: bytes
    ) -> None:
        """Keep the answer."""
        ...

    def forget(self, firm_id: UUID, key: str) -> None:
        """Drop an unfinished answer whose request was refused before it had any effect."""
        ...


class UnitOfWork(Protocol):
    """One transaction: leaving without commit() rolls back."""

    firms: FirmRepository
    api_keys: ApiKeyRepository
    sessions: SessionRepository
    amendments: AmendmentRepository
    answers: AnswerRepository
    clients: Repository[Client]
    properties: Repository[Property]
    lawns: Repository[Lawn]
    beds: Repository[Bed]
    depots: Repository[Depot]
    hold_bays: Repository[HoldBay]
    vehicles: Repository[Vehicle]
    vehicle_outages: Repository[VehicleOutage]
    crews: Repository[Crew]
    compost_sites: Repository[CompostSite]
    treatments: Repository[Treatment]
    jobs: JobRepository
    loads: LoadRepository
    ticket_parts: TicketPartRepository
    hold_entries: Repository[HoldEntry]
    working_days: WorkingDayRepository
    day_plans: DayPlanRepository
    delivery_notes: NoteRepository

    def __enter__(self) -> Self:
        """Begin."""
        ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Roll back what was not committed."""
        ...

    def commit(self) -> None:
        """Keep everything done since entering."""
        ...

    def repository(self, name: str) -> Repository[Any]:
        """Return the repository with this attribute name."""
        ...


OpenUnitOfWork = Callable[[], UnitOfWork]

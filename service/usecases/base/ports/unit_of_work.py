"""What the use cases need from outside: kept records, a unit of work, distances."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final, Generic, Protocol
from uuid import UUID

from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.evidence.closings import DayClosing
from service.core.evidence.recalls import Recall
from service.core.jobs import Job
from service.core.loads import HoldEntry, Load
from service.core.mass_book import BroughtOnADay, MassMoved, MassMovement
from service.core.notes import DeliveryNote
from service.core.personal.erasures import Erasure
from service.core.places import Bed, Client, CompostSite, Depot, HoldBay, Lawn, Property
from service.core.plans import DayPlan, WorkingDay
from service.core.records import AnyRecord
from service.core.treatments import Treatment
from service.usecases.base.ports.directory import (
    AmendmentRepository,
    ApiKeyRepository,
    FirmRepository,
    SessionRepository,
)
from service.usecases.base.ports.kept_answers import AnswerRepository, Forgetting
from service.usecases.base.ports.kept_beside import (
    BodyStayRepository,
    MassBalanceRepository,
    SettledLoadRepository,
    WeighedLoadRepository,
)
from service.usecases.base.ports.kept_texts import KeptTexts
from service.usecases.base.ports.planning_turns import PlanningTurnRepository
from service.usecases.base.ports.searches import SearchRepository
from service.usecases.base.ports.transaction import Transaction

SAID: Final = object()
"""As what a filter wants: records of which anything at all is said there."""


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
        """Write new versions over those before, in few statements. Raises VersionOvertaken."""
        ...

    def remove(self, firm_id: UUID, record_id: UUID) -> None:
        """Delete the record. Raises RecordMissing, and RecordInUse when others name it."""
        ...


class JobRepository(Repository[Job], Protocol):
    """Jobs, and the questions planning asks of them."""

    def of_day(
        self,
        firm_id: UUID,
        depot_id: UUID,
        start: datetime,
        end: datetime,
        *,
        vehicle_id: UUID | None = None,
    ) -> list[Job]:
        """Return a depot's jobs that count, of a vehicle if named, in [start, end) by time, id."""
        ...

    def not_reported(self, firm_id: UUID, depot_id: UUID, before: datetime) -> list[Job]:
        """Return a depot's jobs planned for before then and still planned, by time and id."""
        ...

    def visits(
        self,
        firm_id: UUID,
        ids: Sequence[UUID],
        *,
        lawn_ids: Sequence[UUID],
        start: datetime,
        end: datetime,
    ) -> list[Job]:
        """Return jobs kept or reported under some ids, and those of lawns in [start, end), by id.

        Every state is among them. In one statement; at most a batch of ids is asked for.
        """
        ...

    def lock(self, firm_id: UUID, job_ids: Sequence[UUID]) -> None:
        """Let nobody else write these jobs, or enter what moved of them, before this unit ends."""
        ...

    def aboard(self, firm_id: UUID, depot_id: UUID, before: datetime) -> list[Job]:
        """Return a depot's jobs cut before then, by time and id, that the mass book has aboard."""
        ...

    def mowings_since(
        self, firm_id: UUID, lawn_ids: Sequence[UUID], since: date
    ) -> dict[UUID, list[datetime]]:
        """Return the times of mown jobs by lawn since the day, ascending."""
        ...

    def last_cuts(
        self, firm_id: UUID, vehicle_ids: Sequence[UUID], *, since: datetime, before: datetime
    ) -> dict[UUID, datetime]:
        """Return when some vehicles last mowed after then and before; who did not is not in it."""
        ...


class VehicleOutageRepository(Repository[VehicleOutage], Protocol):
    """Records of vehicles that are out."""

    def up_to(self, firm_id: UUID, day: date, *, back_after: datetime) -> list[VehicleOutage]:
        """Return those of a day, and of days before it of who is back later or nobody knows when.

        By id.
        """
        ...


class LoadRepository(Repository[Load], Protocol):
    """Loads, and what a day asks of those around it."""

    def around(
        self,
        firm_id: UUID,
        day: date,
        *,
        days: Sequence[date],
        start: datetime,
        end: datetime,
        job_ids: Sequence[UUID],
    ) -> list[Load]:
        """Return what a day must know of all loads but superseded ones, by id, in one statement.

        Its own; of the days before what is planned, or was turned away in part or whole; and of
        all those days what was done in [start, end), or has any of some jobs in it. What else was
        tipped the mass book tells.
        """
        ...

    def last_tips(
        self, firm_id: UUID, vehicle_ids: Sequence[UUID], *, since: datetime, before: datetime
    ) -> dict[UUID, datetime]:
        """Return when some vehicles last tipped after then and before; a refusal may be a word."""
        ...


class MassMovementRepository(Repository[MassMovement], Protocol):
    """The entries of the mass book: only added, never changed."""

    def of_lots(self, firm_id: UUID, lot_ids: Sequence[UUID]) -> list[MassMovement]:
        """Return every entry of some lots, ordered by id."""
        ...

    def brought(
        self,
        firm_id: UUID,
        place_ids: Sequence[UUID],
        *,
        since: date,
        before: date,
        without: Sequence[UUID] = (),
    ) -> list[BroughtOnADay]:
        """Return what places got on each of the days in [since, before), ascending.

        In one statement that answers a row a place and day, however many entries there are. The
        entries of some causes do not count.
        """
        ...

    def lots_brought(
        self, firm_id: UUID, place_id: UUID, *, since: date, until: date
    ) -> list[UUID]:
        """Return the lots of which a place got and has something of [since, until], ascending."""
        ...

    def moved(self, firm_id: UUID, depot_id: UUID, *, since: date, before: date) -> list[MassMoved]:
        """Return what moved, and stands, on each of a depot's days in [since, before), summed.

        What came to a hold bay or left one by lot, all else of all lots. In one statement.
        """
        ...


class WorkingDayRepository(Repository[WorkingDay], Protocol):
    """Days and their revisions."""

    def of(self, firm_id: UUID, depot_id: UUID, day: date) -> WorkingDay | None:
        """Return the working day, or None."""
        ...

    def count_event(self, working_day: WorkingDay) -> None:
        """Count one more event on a depot's day, kept first if it is new (a rival's is not)."""
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

    def fold(self, plan: DayPlan, *, beside: DayPlan) -> None:
        """Keep a superseded plan small, beside the one that supersedes it; it reads as before."""
        ...


class RecallRepository(Repository[Recall], Protocol):
    """Recalls."""

    def open(self, firm_id: UUID) -> list[Recall]:
        """Return the open ones without what was traced, by id: each day asks what is frozen."""
        ...


class NoteRepository(Repository[DeliveryNote], Protocol):
    """Notes and their numbers."""

    def next_number(self, firm_id: UUID, year: int) -> int:
        """Return the next running number of the firm's year, never given twice."""
        ...

    def find(self, note_id: UUID) -> DeliveryNote | None:
        """Return a note by id alone: for the signed link, whose signature is the key."""
        ...


class UnitOfWork(Transaction, Protocol):
    """One transaction: leaving without commit() rolls back."""

    firms: FirmRepository
    api_keys: ApiKeyRepository
    sessions: SessionRepository
    amendments: AmendmentRepository
    answers: AnswerRepository
    forgetting: Forgetting
    clients: Repository[Client]
    properties: Repository[Property]
    lawns: Repository[Lawn]
    beds: Repository[Bed]
    depots: Repository[Depot]
    hold_bays: Repository[HoldBay]
    vehicles: Repository[Vehicle]
    vehicle_outages: VehicleOutageRepository
    crews: Repository[Crew]
    compost_sites: Repository[CompostSite]
    treatments: Repository[Treatment]
    jobs: JobRepository
    loads: LoadRepository
    weighed_loads: WeighedLoadRepository
    mass_movements: MassMovementRepository
    mass_balances: MassBalanceRepository
    body_stays: BodyStayRepository
    settled_loads: SettledLoadRepository
    hold_entries: Repository[HoldEntry]
    working_days: WorkingDayRepository
    planning_turns: PlanningTurnRepository
    searches: SearchRepository
    day_plans: DayPlanRepository
    day_closings: Repository[DayClosing]
    recalls: RecallRepository
    delivery_notes: NoteRepository
    erasures: Repository[Erasure]
    kept_texts: KeptTexts

    def repository(self, name: str) -> Repository[Any]:
        """Return the repository with this attribute name."""
        ...


RenewNote = Callable[[UnitOfWork, Load], None]
"""Issue the next version of a load's note, if it has one and says other than it did."""
OpenUnitOfWork = Callable[[], UnitOfWork]

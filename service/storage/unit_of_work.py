"""One transaction over all kept records."""

from __future__ import annotations

from contextlib import nullcontext, suppress
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from service.core.closings import DayClosing
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.jobs import Job
from service.core.loads import HoldEntry, Load
from service.core.notes import DeliveryNote
from service.core.places import Bed, Client, CompostSite, Depot, HoldBay, Lawn, Property
from service.core.plans import DayPlan, WorkingDay
from service.core.treatments import Treatment
from service.storage.access import (
    TableAmendments,
    TableAnswers,
    TableApiKeys,
    TableFirms,
    TableSessions,
)
from service.storage.engine import reading
from service.storage.faults import answer_to_fault
from service.storage.loads import HOLD_ENTRIES, LOADS, FoundByLoads, TableLoads
from service.storage.mapping import RecordMapping
from service.storage.mass_book import MASS_MOVEMENTS, TableMassBalances, TableMassMovements
from service.storage.notes import TableNotes
from service.storage.planning_records import (
    TableDayPlans,
    TableJobs,
    TableWorkingDays,
)
from service.storage.repository import TableRepository
from service.storage.tables import papers, places, row_of, work
from service.storage.ticket_parts import TableTicketParts
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.directory import ApiKeyRepository, FirmRepository, SessionRepository
from service.usecases.base.kept_answers import AnswerRepository
from service.usecases.base.ports import (
    AmendmentRepository,
    DayPlanRepository,
    JobRepository,
    MassBalanceRepository,
    MassMovementRepository,
    NoteRepository,
    OpenUnitOfWork,
    Repository,
    WorkingDayRepository,
)
from service.usecases.base.ticket_parts import TicketPartRepository

CLIENTS = RecordMapping(Client, places.ClientRow, "client")
PROPERTIES = RecordMapping(Property, places.PropertyRow, "property")
LAWNS = RecordMapping(Lawn, places.LawnRow, "lawn")
DEPOTS = RecordMapping(Depot, places.DepotRow, "depot")
VEHICLES = RecordMapping(Vehicle, work.VehicleRow, "vehicle")
VEHICLE_OUTAGES = RecordMapping(VehicleOutage, work.VehicleOutageRow, "vehicle outage")
CREWS = RecordMapping(Crew, work.CrewRow, "crew")
TREATMENTS = RecordMapping(Treatment, work.TreatmentRow, "treatment")
JOBS = RecordMapping(Job, work.JobRow, "job")
DAY_PLANS = RecordMapping(DayPlan, work.DayPlanRow, "day plan")
DAY_CLOSINGS = RecordMapping(DayClosing, work.DayClosingRow, "day closing")
WORKING_DAYS = RecordMapping(WorkingDay, work.WorkingDayRow, "working day")
DELIVERY_NOTES = RecordMapping(DeliveryNote, papers.DeliveryNoteRow, "delivery note")
DESTINATIONS: tuple[RecordMapping[Any], ...] = tuple(
    RecordMapping(kind.record, row_of(kind.repository), kind.one) for kind in KINDS.values()
)

RECORDS: tuple[RecordMapping[Any], ...] = (
    CLIENTS,
    PROPERTIES,
    LAWNS,
    DEPOTS,
    VEHICLES,
    VEHICLE_OUTAGES,
    CREWS,
    TREATMENTS,
    JOBS,
    DAY_PLANS,
    DAY_CLOSINGS,
    WORKING_DAYS,
    LOADS,
    MASS_MOVEMENTS,
    HOLD_ENTRIES,
    DELIVERY_NOTES,
    *DESTINATIONS,
)
RECORD_REPOSITORIES = frozenset(mapping.table.name for mapping in RECORDS)


class SqlUnitOfWork:
    """One transaction on one connection: leaving without commit() rolls back.

    It begins with the first statement. One that was opened for reading sees a single moment of
    the database from then on, and can write nothing.
    """

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
    loads: Repository[Load]
    ticket_parts: TicketPartRepository
    mass_movements: MassMovementRepository
    mass_balances: MassBalanceRepository
    hold_entries: Repository[HoldEntry]
    working_days: WorkingDayRepository
    day_plans: DayPlanRepository
    day_closings: Repository[DayClosing]
    delivery_notes: NoteRepository

    def __init__(self, engine: Engine) -> None:
        """Take the engine; nothing is opened yet."""
        self._engine = engine

    def __enter__(self) -> Self:
        """Take a connection and hand it to every repository.

        Raises
        ------
        RecordsOutOfReach
            If there is no connection to be had.
        """
        try:
            self._connection = connection = self._engine.connect()
        except Exception as error:
            refusal = answer_to_fault(error)
            if refusal is None:
                raise
            raise refusal from error
        self.firms = TableFirms(connection)
        self.api_keys = TableApiKeys(connection)
        self.sessions = TableSessions(connection)
        self.amendments = TableAmendments(connection)
        self.answers = TableAnswers(connection)
        self.clients = TableRepository(connection, CLIENTS)
        self.properties = TableRepository(connection, PROPERTIES)
        self.lawns = TableRepository(connection, LAWNS)
        self.depots = TableRepository(connection, DEPOTS)
        self.vehicles = TableRepository(connection, VEHICLES)
        self.vehicle_outages = TableRepository(connection, VEHICLE_OUTAGES)
        self.crews = TableRepository(connection, CREWS)
        self.treatments = TableRepository(connection, TREATMENTS)
        self.jobs = TableJobs(connection, JOBS)
        self.loads = TableLoads(connection, LOADS)
        self.ticket_parts = TableTicketParts(connection)
        self.mass_movements = TableMassMovements(connection, MASS_MOVEMENTS)
        self.mass_balances = TableMassBalances(connection)
        self.hold_entries = FoundByLoads(connection, HOLD_ENTRIES)
        self.working_days = TableWorkingDays(connection, WORKING_DAYS)
        self.day_plans = TableDayPlans(connection, DAY_PLANS)
        self.day_closings = TableRepository(connection, DAY_CLOSINGS)
        self.delivery_notes = TableNotes(connection, DELIVERY_NOTES)
        for mapping in DESTINATIONS:
            setattr(self, mapping.table.name, TableRepository(connection, mapping))
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Give the connection back; what was not committed is rolled back.

        Raises
        ------
        RecordsBusy, RecordsOutOfReach
            If the database ended the transaction for a rival's sake, or failed.
        """
        refusal = answer_to_fault(error)
        # What is left of a broken transaction cannot be rolled back; the pool throws it away.
        with suppress(DBAPIError) if refusal is not None else nullcontext():
            self._connection.close()
        if refusal is not None:
            raise refusal from error

    def commit(self) -> None:
        """Keep everything done since entering."""
        self._connection.commit()

    def repository(self, name: str) -> Repository[Any]:
        """Return the repository with this attribute name."""
        if name not in RECORD_REPOSITORIES:
            raise ValueError(f"there is no repository {name}")
        found: Repository[Any] = getattr(self, name)
        return found


def unit_of_work_opener(engine: Engine) -> OpenUnitOfWork:
    """Return the way to open a unit of work on this engine."""
    return lambda: SqlUnitOfWork(engine)


def reading_opener(engine: Engine) -> OpenUnitOfWork:
    """Return the way to open a unit that only reads, all of it at one moment.

    For lists and reports, and for whatever must not see a change halfway through.
    """
    only_reading = reading(engine)
    return lambda: SqlUnitOfWork(only_reading)

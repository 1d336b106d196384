"""One transaction over all kept records."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import nullcontext, suppress
from types import TracebackType
from typing import Any, Self, TypedDict, cast

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from service.core.loads import HoldEntry
from service.storage.engine import reading
from service.storage.faults import answer_to_fault
from service.storage.mapping import RecordMapping
from service.storage.repositories.access import (
    TableAmendments,
    TableAnswers,
    TableApiKeys,
    TableFirms,
    TableSessions,
)
from service.storage.repositories.body_stays import TableBodyStays
from service.storage.repositories.forgetting import TableForgetting
from service.storage.repositories.kept_texts import TableKeptTexts
from service.storage.repositories.loads import FoundByLoads, TableLoads
from service.storage.repositories.mass_book import TableMassBalances, TableMassMovements
from service.storage.repositories.notes import TableNotes, TableRecalls
from service.storage.repositories.outages import TableVehicleOutages
from service.storage.repositories.planning_records import (
    TableDayPlans,
    TableJobs,
)
from service.storage.repositories.planning_turns import TablePlanningTurns, TableWorkingDays
from service.storage.repositories.repository import TableRepository
from service.storage.repositories.searches import TableSearches
from service.storage.repositories.settled_loads import TableSettledLoads
from service.storage.repositories.weighed_loads import TableWeighedLoads
from service.storage.tables import row_of
from service.usecases.base.ports.transaction import Part
from service.usecases.base.ports.unit_of_work import (
    DayPlanRepository,
    JobRepository,
    LoadRepository,
    MassMovementRepository,
    NoteRepository,
    OpenUnitOfWork,
    RecallRepository,
    Repository,
    UnitOfWork,
    VehicleOutageRepository,
    WorkingDayRepository,
)
from service.usecases.base.registry import kept_records, words_of
from service.usecases.base.whose import whose

RECORDS: Mapping[str, RecordMapping[Any]] = {
    name: RecordMapping(record, row_of(name), words_of(record))
    for name, record in kept_records().items()
}


class AskedMore(TypedDict):
    """The repositories of which more than the usual is asked; every other is a plain one."""

    vehicle_outages: type[VehicleOutageRepository]
    jobs: type[JobRepository]
    loads: type[LoadRepository]
    hold_entries: type[Repository[HoldEntry]]
    mass_movements: type[MassMovementRepository]
    working_days: type[WorkingDayRepository]
    day_plans: type[DayPlanRepository]
    recalls: type[RecallRepository]
    delivery_notes: type[NoteRepository]


ASKED_MORE: AskedMore = {
    "vehicle_outages": TableVehicleOutages,
    "jobs": TableJobs,
    "loads": TableLoads,
    "hold_entries": FoundByLoads,
    "mass_movements": TableMassMovements,
    "working_days": TableWorkingDays,
    "day_plans": TableDayPlans,
    "recalls": TableRecalls,
    "delivery_notes": TableNotes,
}


class SqlUnitOfWork:
    """One transaction on one connection: leaving without commit() rolls back.

    It begins with the first statement, for the firm that `usecases.base.whose` was told. One that
    was opened for reading sees a single moment of the database from then on, and writes nothing.
    """

    def __init__(self, engine: Engine) -> None:
        """Take the engine; nothing is opened yet."""
        self._engine = engine

    def __enter__(self) -> Self:
        """Take a connection and hand it to every repository.

        Raises
        ------
        RecordsOutOfReach
            If there is no connection to be had.
        FirmUnsaid
            If nobody said whose records they are.
        """
        said = whose()
        try:
            connection = self._engine.connect()
        except Exception as error:
            refusal = answer_to_fault(error)
            if refusal is None:
                raise
            raise refusal from error
        self._connection = connection = connection.execution_options(whose=said)
        self.firms = TableFirms(connection)
        self.api_keys = TableApiKeys(connection)
        self.sessions = TableSessions(connection)
        self.amendments = TableAmendments(connection)
        self.answers = TableAnswers(connection)
        self.forgetting = TableForgetting(connection)
        self.kept_texts = TableKeptTexts(connection)
        self.weighed_loads = TableWeighedLoads(connection)
        self.mass_balances = TableMassBalances(connection)
        self.body_stays = TableBodyStays(connection)
        self.settled_loads = TableSettledLoads(connection)
        self.planning_turns = TablePlanningTurns(connection)
        self.searches = TableSearches(connection)
        asked_more = cast("Mapping[str, type[TableRepository[Any]]]", ASKED_MORE)
        for name, mapping in RECORDS.items():
            setattr(self, name, asked_more.get(name, TableRepository)(connection, mapping))
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

    def begin_part(self) -> Part:
        """Begin a part of the transaction that can be rolled back by itself: a savepoint."""
        return self._connection.begin_nested()

    def repository(self, name: str) -> Repository[Any]:
        """Return the repository with this attribute name."""
        if name not in RECORDS:
            raise ValueError(f"there is no repository {name}")
        found: Repository[Any] = getattr(self, name)
        return found


def unit_of_work_opener(engine: Engine) -> OpenUnitOfWork:
    """Return the way to open a unit of work on this engine."""
    return lambda: cast("UnitOfWork", SqlUnitOfWork(engine))


def reading_opener(engine: Engine) -> OpenUnitOfWork:
    """Return the way to open a unit that only reads, all of it at one moment.

    For lists and reports, and for whatever must not see a change halfway through.
    """
    only_reading = reading(engine)
    return lambda: cast("UnitOfWork", SqlUnitOfWork(only_reading))

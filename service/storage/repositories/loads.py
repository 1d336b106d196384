"""Loads, and what is found by them: jobs, what is held, notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import ColumnElement, Select, and_, exists, false, func, or_, select
from sqlalchemy.orm import aliased

from service.core.loads import ENDED_STATES, Load, LoadState
from service.core.records import AnyRecord
from service.storage.faults import keeping
from service.storage.mapping import RecordMapping
from service.storage.repositories.repository import TableRepository, in_chunks
from service.storage.repositories.weighed_loads import follow_loads
from service.storage.statements import insert_unless_kept
from service.storage.tables.papers import DeliveryNoteRow, LoadLotRow, LoadRow
from service.storage.tables.work import JobRow
from service.usecases.base.calendar import ANSWER, DAYS, LOT_CODE, DepotDay

LOADS: Final = RecordMapping(Load, LoadRow, "load")
# Of a day before, what a day is told of, whatever was in it.
STILL_TOLD: Final = tuple(
    state.value for state in (LoadState.PLANNED, LoadState.REFUSED, LoadState.PARTLY_REFUSED)
)
# What is asked of a paper and stands in the record of its load.
OF_THE_LOAD: Final = frozenset(
    {
        DAYS,
        LOT_CODE,
        "depot_id",
        "vehicle_id",
        "crew_id",
        "destination_kind",
        "destination_id",
    }
)


class TableLoads(TableRepository[Load]):
    """Loads, and beside them which lots are in which."""

    def add(self, record: Load) -> None:
        """Keep a new load and what is in it. Raises RecordExists when the id is taken."""
        super().add(record)
        self._follow([record], fresh=True)

    def add_many(self, records: Sequence[Load]) -> None:
        """Keep many new loads with two statements. Raises RecordExists when an id is taken."""
        super().add_many(records)
        self._follow(records, fresh=True)

    def replace(self, record: Load, *, expected_version: int) -> None:
        """Write a new version; a load may have got lots. Raises VersionOvertaken."""
        super().replace(record, expected_version=expected_version)
        self._follow([record], fresh=False)

    def replace_many(self, records: Sequence[Load]) -> None:
        """Write new versions, each over the one before it, with two statements."""
        super().replace_many(records)
        self._follow(records, fresh=False)

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
        """Return what a day must know of all loads but superseded ones, by id."""
        row = self._row
        found: dict[UUID, Load] = {}
        for some in in_chunks(job_ids) if job_ids else [()]:
            carrying = select(LoadLotRow.load_id).where(
                LoadLotRow.firm_id == firm_id, LoadLotRow.job_id.in_(some)
            )
            asked = self._of(firm_id).where(
                row.working_day.in_(days),
                row.state != LoadState.SUPERSEDED.value,
                or_(
                    row.working_day == day,
                    and_(row.working_day < day, row.state.in_(STILL_TOLD)),
                    and_(row.done_at >= start, row.done_at < end),
                    row.id.in_(carrying),
                ),
            )
            found |= {load.id: load for load in self._list(asked)}
        return [found[load_id] for load_id in sorted(found)]

    def last_tips(
        self, firm_id: UUID, vehicle_ids: Sequence[UUID], *, since: datetime, before: datetime
    ) -> dict[UUID, datetime]:
        """Return when some vehicles last tipped after then and before."""
        row = self._row
        asked = (
            select(row.vehicle_id, func.max(row.done_at))
            .where(
                row.firm_id == firm_id,
                row.vehicle_id.in_(vehicle_ids),
                row.done_at > since,
                row.done_at < before,
                row.state.in_(
                    [state.value for state in sorted(ENDED_STATES - {LoadState.REFUSED})]
                ),
            )
            .group_by(row.vehicle_id)
        )
        return {one[0]: one[1] for one in self._connection.execute(asked)}

    def _follow(self, records: Sequence[Load], *, fresh: bool) -> None:
        self._keep_lots(records)
        follow_loads(self._connection, records, fresh=fresh)

    def _keep_lots(self, records: Sequence[Load]) -> None:
        """Keep what is in some loads; a planned load whose lots change is another load."""
        rows = [
            {"firm_id": load.firm_id, "job_id": job_id, "load_id": load.id}
            for load in sorted(records, key=lambda load: load.id)
            for job_id in sorted({part.job_id for part in load.parts})
        ]
        if rows:
            with keeping("lot of a load", records[0].id):
                self._connection.execute(
                    insert_unless_kept(LoadLotRow.__table__)[self._connection.dialect.name],
                    rows,
                )

    def _conditions(
        self, firm_id: UUID, filters: Mapping[str, object]
    ) -> list[ColumnElement[bool]]:
        return load_conditions(firm_id, filters)


class FoundByLoads(TableRepository[AnyRecord]):
    """Papers that name a load: found by its day, lots, vehicle, crew and place, too."""

    def _conditions(
        self, firm_id: UUID, filters: Mapping[str, object]
    ) -> list[ColumnElement[bool]]:
        own = {name: value for name, value in filters.items() if name not in OF_THE_LOAD}
        of_load = {name: value for name, value in filters.items() if name in OF_THE_LOAD}
        found = self._mapping.matches(own)
        return [*found, self._row.load_id.in_(loads_found(firm_id, of_load))] if of_load else found


def loads_found(firm_id: UUID, filters: Mapping[str, object]) -> Select[Any]:
    """Return the question for the ids of loads that match."""
    return select(LoadRow.id).where(LoadRow.firm_id == firm_id, *load_conditions(firm_id, filters))


def load_conditions(firm_id: UUID, filters: Mapping[str, object]) -> list[ColumnElement[bool]]:
    """Return what loads must be like, by their fields and by what names them."""
    own = {name: v for name, v in filters.items() if name not in {DAYS, LOT_CODE, ANSWER}}
    found = LOADS.matches(own)
    if DAYS in filters:
        on_each = (
            and_(LoadRow.depot_id == day.depot_id, LoadRow.working_day == day.day)
            for day in days_of(filters)
        )
        found.append(or_(false(), *on_each))
    if LOT_CODE in filters:
        lots = select(JobRow.id).where(
            JobRow.firm_id == firm_id, JobRow.lot_code.in_(several(filters[LOT_CODE]))
        )
        carrying = select(LoadLotRow.load_id).where(
            LoadLotRow.firm_id == firm_id, LoadLotRow.job_id.in_(lots)
        )
        found.append(LoadRow.id.in_(carrying))
    if ANSWER in filters:
        found.append(LoadRow.id.in_(answered(firm_id, filters[ANSWER])))
    return found


def answered(firm_id: UUID, wanted: object) -> Select[Any]:
    """Return the question for the ids of loads whose notes were answered so (None: not yet).

    The newest version of a note is asked; nobody answers one that another took the place of.
    """
    words = [word.value for word in several(wanted) if word is not None]
    said: ColumnElement[bool] = DeliveryNoteRow.answer.in_(words)
    if None in several(wanted):
        said = or_(said, DeliveryNoteRow.answer.is_(None))
    newer = aliased(DeliveryNoteRow)
    is_overtaken = exists().where(
        newer.firm_id == firm_id,
        newer.number == DeliveryNoteRow.number,
        newer.note_version > DeliveryNoteRow.note_version,
    )
    return select(DeliveryNoteRow.load_id).where(
        DeliveryNoteRow.firm_id == firm_id, said, ~is_overtaken
    )


def lots_in(firm_id: UUID, filters: Mapping[str, object]) -> Select[Any]:
    """Return the question for the ids of jobs of which something is in loads that match."""
    return select(LoadLotRow.job_id).where(
        LoadLotRow.firm_id == firm_id, LoadLotRow.load_id.in_(loads_found(firm_id, filters))
    )


def days_of(filters: Mapping[str, object]) -> tuple[DepotDay, ...]:
    """Return the days of depots that are asked for."""
    days: Any = filters[DAYS]
    return tuple(days)


def several(wanted: object) -> tuple[Any, ...]:
    """Return what is wanted as several values of which any will do."""
    return wanted if isinstance(wanted, tuple) else (wanted,)

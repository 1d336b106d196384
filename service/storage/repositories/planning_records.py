"""Jobs, loads, working days and day plans: what planning asks beyond the usual."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time
from functools import cache
from typing import Any, Final, TypeVar
from uuid import UUID

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Select,
    and_,
    bindparam,
    false,
    func,
    insert,
    null,
    or_,
    select,
    union,
    union_all,
    update,
)

from service.core.jobs import UNCOUNTED_STATES, Job, JobState
from service.core.mass_book import VEHICLE
from service.core.materials import LotStatus
from service.core.plans import DayPlan
from service.storage.mapping import RecordMapping
from service.storage.repositories.folding import folded, unfolded
from service.storage.repositories.loads import days_of, lots_in
from service.storage.repositories.repository import TableRepository, in_chunks
from service.storage.repositories.weighed_loads import follow_jobs
from service.storage.tables.mass_book import MassBalanceRow
from service.storage.tables.work import FoldedPlanRow, JobRow
from service.usecases.base.calendar import ANSWER, DAYS, MAY_BE_SOUR, DepotDay
from service.usecases.base.ports.unit_of_work import Page

# The oldest that is read beside so many later ones takes some tenths of a second. Common practice.
ALONE_EVERY: Final = 40
# Of a plan: half a megabyte, and the versions of every bed and site.
HEAVY: Final = frozenset({"routing", "record_versions"})
AnyValue = TypeVar("AnyValue")
# What is asked of a job and stands in the loads that something of it is in.
BY_LOADS: Final = frozenset({ANSWER, "destination_kind", "destination_id"})


def _aboard(firm_id: UUID) -> Select[Any]:
    """Return the question for the ids of jobs of which something is in a vehicle's body."""
    balance = MassBalanceRow
    return select(balance.lot_id).where(balance.firm_id == firm_id, balance.place_kind == VEHICLE)


class TableJobs(TableRepository[Job]):
    """Jobs; found by the loads that something of them is in, too."""

    def _conditions(
        self, firm_id: UUID, filters: Mapping[str, object]
    ) -> list[ColumnElement[bool]]:
        by_loads = {name: value for name, value in filters.items() if name in BY_LOADS}
        own = {n: v for n, v in filters.items() if n not in BY_LOADS | {DAYS, MAY_BE_SOUR}}
        found = self._mapping.matches(own)
        if DAYS in filters:
            # A list in the order of ids would be read along them, all that the firm has: the
            # days' own ids come first, each half by its index.
            halves = [half for day in days_of(filters) for half in _halves_of_day(firm_id, day)]
            found.append(self._row.id.in_(union_all(*halves)) if halves else false())
        if by_loads:
            found.append(self._row.id.in_(lots_in(firm_id, by_loads)))
        if MAY_BE_SOUR in filters:
            spoiled = tuple(status for status in LotStatus if status is not LotStatus.CLEAN)
            found.append(
                or_(
                    *self._mapping.matches({"status": filters[MAY_BE_SOUR]}),
                    self._row.id.in_(_aboard(firm_id)),
                    self._row.id.in_(lots_in(firm_id, {"status": spoiled})),
                )
            )
        return found

    def replace(self, record: Job, *, expected_version: int) -> None:
        """Write a new version, and have its tickets read anew. Raises VersionOvertaken."""
        super().replace(record, expected_version=expected_version)
        follow_jobs(self._connection, record.firm_id, [record.id])

    def replace_many(self, records: Sequence[Job]) -> None:
        """Write new versions, each over the one before it, and have their tickets read anew."""
        super().replace_many(records)
        if records:
            follow_jobs(self._connection, records[0].firm_id, [job.id for job in records])

    def of_day(
        self,
        firm_id: UUID,
        depot_id: UUID,
        start: datetime,
        end: datetime,
        *,
        vehicle_id: UUID | None = None,
    ) -> list[Job]:
        """Return jobs of a depot that count, cut or planned in [start, end), by time and id.

        Parameters
        ----------
        vehicle_id
            Of one vehicle only, if named.
        """
        row = self._row
        asked = self._of(firm_id).where(
            row.depot_id == depot_id,
            self._within(start, end),
            row.state.not_in([state.value for state in sorted(UNCOUNTED_STATES)]),
        )
        if vehicle_id is not None:
            asked = asked.where(row.vehicle_id == vehicle_id)
        return self._list(asked.order_by(func.coalesce(row.cut_at, row.planned_at), row.id))

    def not_reported(self, firm_id: UUID, depot_id: UUID, before: datetime) -> list[Job]:
        """Return a depot's jobs planned for before then and still planned, by time and id."""
        row = self._row
        asked = self._of(firm_id).where(
            row.depot_id == depot_id,
            row.state == JobState.PLANNED.value,
            row.planned_at < before,
        )
        return self._list(asked.order_by(row.planned_at, row.id))

    def _within(self, start: datetime, end: datetime) -> ColumnElement[bool]:
        row = self._row
        # A cut job is there at its cut, wherever it was planned; each half has its index.
        cut = and_(row.cut_at >= start, row.cut_at < end)
        planned = and_(row.cut_at.is_(None), row.planned_at >= start, row.planned_at < end)
        return or_(cut, planned)

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

        Every state is among them.
        """
        asked = {"of_firm": firm_id, "of_ids": list(ids), "of_lawns": list(lawn_ids)}
        found = self._connection.execute(
            _visits(self._mapping), {**asked, "start": start, "end": end}
        )
        return sorted((self._mapping.from_row(row) for row in found), key=lambda job: job.id)

    def lock(self, firm_id: UUID, job_ids: Sequence[UUID]) -> None:
        """Let nobody else write these jobs, or enter what moved of them, before this unit ends.

        SQLite has one writer at a time anyway.
        """
        row = self._row
        for some in in_chunks(job_ids):
            asked = select(row.id).where(row.firm_id == firm_id, row.id.in_(some))
            self._connection.execute(asked.order_by(row.id).with_for_update())

    def aboard(self, firm_id: UUID, depot_id: UUID, before: datetime) -> list[Job]:
        """Return a depot's jobs cut before then whose clippings are aboard by the mass book.

        By time and id. However long ago: it asks for what is aboard, not for what was cut.
        """
        row = self._row
        # Depot, time and order are looked at here: said to the database they let it read the jobs
        # of a season by time, where a few dozen are wanted by their ids.
        found = [
            job
            for job in self._list(self._of(firm_id).where(row.id.in_(_aboard(firm_id))))
            if job.depot_id == depot_id and job.cut_at is not None and job.cut_at < before
        ]
        return sorted(found, key=lambda job: (job.at, job.id))

    def mowings_since(
        self, firm_id: UUID, lawn_ids: Sequence[UUID], since: date
    ) -> dict[UUID, list[datetime]]:
        """Return the times of mown jobs by lawn since the day's midnight in UTC, ascending.

        Every lawn that was asked for is in the answer.
        """
        row = self._row
        found: dict[UUID, list[datetime]] = {lawn_id: [] for lawn_id in lawn_ids}
        for some in in_chunks(lawn_ids):
            asked = (
                select(row.lawn_id, row.cut_at)
                .where(
                    row.firm_id == firm_id,
                    row.lawn_id.in_(some),
                    row.cut_at >= datetime.combine(since, time(), tzinfo=UTC),
                    row.state == JobState.MOWN.value,
                )
                .order_by(row.cut_at, row.id)
            )
            _gather(found, ((row[0], row[1]) for row in self._connection.execute(asked)))
        return found

    def last_cuts(
        self, firm_id: UUID, vehicle_ids: Sequence[UUID], *, since: datetime, before: datetime
    ) -> dict[UUID, datetime]:
        """Return when some vehicles last mowed after then and before; who did not is not in it."""
        row = self._row
        asked = (
            select(row.vehicle_id, func.max(row.cut_at))
            .where(
                row.firm_id == firm_id,
                row.cut_at > since,
                row.cut_at < before,
                row.vehicle_id.in_(vehicle_ids),
                row.state == JobState.MOWN.value,
            )
            .group_by(row.vehicle_id)
        )
        return {one[0]: one[1] for one in self._connection.execute(asked)}


class TableDayPlans(TableRepository[DayPlan]):
    """Plans of days."""

    def page(
        self, firm_id: UUID, *, filters: Mapping[str, object], after: UUID | None, limit: int
    ) -> Page[DayPlan]:
        """Return a page ordered by id, of plans without routings: those are read one by one."""
        columns = [
            null().label(column.name) if column.name in HEAVY else column
            for column in self._mapping.columns
        ]
        found = self._page(select(*columns), firm_id, filters=filters, after=after, limit=limit)
        return replace(found, records=tuple(replace(plan, routing={}) for plan in found.records))

    def fold(self, plan: DayPlan, *, beside: DayPlan) -> None:
        """Keep of a superseded plan what it said otherwise than the one that supersedes it.

        Every so often one is kept whole, so that few are to be read for an old one.
        """
        alone = plan.sequence % ALONE_EVERY == 0
        said = folded(_said(plan), None if alone else _said(beside))
        row = {"firm_id": plan.firm_id, "plan_id": plan.id, "said": said}
        row["beside_id"] = None if alone else beside.id
        self._connection.execute(insert(FoldedPlanRow), [row])
        mine = (self._row.firm_id == plan.firm_id, self._row.id == plan.id)
        emptied = update(self._mapping.table).where(*mine)
        self._connection.execute(emptied.values(routing={}, record_versions=None))

    def get(self, firm_id: UUID, record_id: UUID) -> DayPlan | None:
        """Return the plan, whole, or None."""
        plan = super().get(firm_id, record_id)
        return None if plan is None else self._unfolded(plan)

    def get_many(self, firm_id: UUID, ids: Sequence[UUID]) -> dict[UUID, DayPlan]:
        """Return those of the plans that exist, whole."""
        found = super().get_many(firm_id, ids)
        return {plan_id: self._unfolded(plan) for plan_id, plan in found.items()}

    def all(self, firm_id: UUID, **filters: object) -> list[DayPlan]:
        """Return every plan that matches, whole."""
        return [self._unfolded(plan) for plan in super().all(firm_id, **filters)]

    def _unfolded(self, plan: DayPlan) -> DayPlan:
        """Return a plan whole, by those that it was folded beside."""
        if plan.routing:
            return plan
        row = FoldedPlanRow
        asked = select(row.beside_id, row.said).where(
            row.firm_id == plan.firm_id, row.plan_id == plan.id
        )
        kept = self._connection.execute(asked).first()
        if kept is None:
            return plan
        beside = None if kept.beside_id is None else self.get(plan.firm_id, kept.beside_id)
        routing, versions = unfolded(kept.said, None if beside is None else _said(beside))
        return replace(plan, routing=routing, record_versions=versions)

    def latest(self, firm_id: UUID, depot_id: UUID, day: date) -> DayPlan | None:
        """Return the newest plan of the depot's day."""
        row = self._row
        asked = self._of(firm_id).where(row.depot_id == depot_id, row.day == day)
        return self._first(asked.order_by(row.sequence.desc()).limit(1))


def _said(plan: DayPlan) -> list[object]:
    return [plan.routing, plan.record_versions]


# What every posted job asks is put into words once: that takes longer than the database does.
@cache
def _visits(mapping: RecordMapping[Job]) -> Select[Any]:
    row = JobRow
    of_firm = select(row.id).where(row.firm_id == bindparam("of_firm"))
    ids: BindParameter[Any] = bindparam("of_ids", expanding=True)
    lawns: BindParameter[Any] = bindparam("of_lawns", expanding=True)
    # Each by its index: asked for any of them at once, a database reads all that the firm has.
    found = union(
        of_firm.where(row.id.in_(ids)),
        of_firm.where(row.reported_as_id.in_(ids)),
        *_halves(of_firm.where(row.lawn_id.in_(lawns)), bindparam("start"), bindparam("end")),
    )
    kept = mapping.table.c
    asked: Select[Any] = mapping.selected
    return asked.where(kept.firm_id == bindparam("of_firm"), kept.id.in_(found))


def _halves_of_day(firm_id: UUID, day: DepotDay) -> tuple[Select[Any], Select[Any]]:
    """Return the questions for the ids of a depot's jobs of a day."""
    row = JobRow
    of_depot = select(row.id).where(row.firm_id == firm_id, row.depot_id == day.depot_id)
    return _halves(of_depot, day.start, day.end)


def _halves(
    asked: Select[Any], start: datetime | BindParameter[Any], end: datetime | BindParameter[Any]
) -> tuple[Select[Any], Select[Any]]:
    """Return a question as one for what was cut in [start, end), and one for what is planned.

    A cut job is there at its cut, wherever it was planned.
    """
    row = JobRow
    return (
        asked.where(row.cut_at >= start, row.cut_at < end),
        asked.where(row.planned_at >= start, row.planned_at < end, row.cut_at.is_(None)),
    )


def _gather(found: dict[UUID, list[AnyValue]], pairs: Iterable[tuple[UUID, AnyValue]]) -> None:
    for key, value in pairs:
        found[key].append(value)

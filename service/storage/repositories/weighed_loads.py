"""What accepted weigh tickets say, in a small row a load beside the records it follows from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import (
    Connection,
    Select,
    bindparam,
    delete,
    false,
    func,
    literal,
    select,
    true,
    union_all,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from service.core.loads import Load
from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import in_chunks
from service.storage.tables.papers import LoadLotRow, LoadRow, WeighedLoadRow
from service.storage.tables.work import JobRow
from service.usecases.base.ports.kept_beside import WeighedLoad

_COLUMNS = (
    WeighedLoadRow.load_id,
    WeighedLoadRow.grass_group,
    WeighedLoadRow.lawn,
    WeighedLoadRow.estimated_kg,
    WeighedLoadRow.weighed_kg,
    WeighedLoadRow.is_as_recorded,
)
_LATEST = (WeighedLoadRow.weighed_at.desc(), WeighedLoadRow.load_id.desc())
# Made once: building them would take longer than the database does.
_OF_FIRM = (
    select(*_COLUMNS, literal(0).label("turn"), WeighedLoadRow.weighed_at)
    .where(WeighedLoadRow.firm_id == bindparam("firm"))
    .order_by(*_LATEST)
    .limit(bindparam("of_firm"))
    .subquery()
)
_RANKED = (
    select(
        *_COLUMNS,
        literal(1).label("turn"),
        WeighedLoadRow.weighed_at,
        func.row_number().over(partition_by=WeighedLoadRow.lawn, order_by=_LATEST).label("place"),
    )
    .where(
        WeighedLoadRow.firm_id == bindparam("firm"),
        WeighedLoadRow.lawn.in_(bindparam("lawns", expanding=True)),
    )
    .subquery()
)
_OF_LAWNS = select(*list(_RANKED.c)[:-1]).where(_RANKED.c.place <= bindparam("of_lawn"))
_FOUND = union_all(select(_OF_FIRM), _OF_LAWNS).subquery()
_NEWEST: Select[Any] = select(*list(_FOUND.c)[:-2]).order_by(
    _FOUND.c.turn, _FOUND.c.weighed_at.desc(), _FOUND.c.load_id.desc()
)
_WORKED_OUT = (
    update(WeighedLoadRow)
    .where(
        WeighedLoadRow.firm_id == bindparam("of_firm"), WeighedLoadRow.load_id == bindparam("load")
    )
    .values(
        grass_group=bindparam("group"),
        lawn=bindparam("on"),
        estimated_kg=bindparam("estimated"),
        weighed_kg=bindparam("weighed"),
        is_as_recorded=true(),
    )
)
_WEIGHED = {
    dialect: made.on_conflict_do_update(
        index_elements=[WeighedLoadRow.firm_id, WeighedLoadRow.load_id],
        set_={"weighed_at": made.excluded.weighed_at, "is_as_recorded": false()},
    )
    for dialect, made in (
        ("postgresql", postgresql.insert(WeighedLoadRow)),
        ("sqlite", sqlite.insert(WeighedLoadRow)),
    )
}


class TableWeighedLoads(Connected):
    """What weighed loads say."""

    def newest(
        self, firm_id: UUID, *, of_firm: int, lawns: Sequence[str], of_lawn: int
    ) -> list[WeighedLoad]:
        """Return what the newest tickets of a firm say, then what those of the lawns do."""
        asked = {"firm": firm_id, "of_firm": of_firm, "lawns": list(lawns), "of_lawn": of_lawn}
        found: dict[UUID, WeighedLoad] = {}
        for row in self._connection.execute(_NEWEST, asked):
            if row[0] not in found:
                found[row[0]] = WeighedLoad(*row)
        return list(found.values())

    def standing(self, firm_id: UUID, load_ids: Sequence[UUID]) -> set[UUID]:
        """Return those of the loads that nobody changes, or their jobs, before this unit ends.

        Who writes one of these at the moment is not waited for. SQLite has one writer anyway.
        """
        found: set[UUID] = set()
        for some in in_chunks(load_ids):
            loads = select(LoadRow.id).where(LoadRow.firm_id == firm_id, LoadRow.id.in_(some))
            found |= set(self._held(loads, LoadRow))
            lots = select(LoadLotRow.load_id, LoadLotRow.job_id).where(
                LoadLotRow.firm_id == firm_id, LoadLotRow.load_id.in_(some)
            )
            in_loads = [(load_id, job_id) for load_id, job_id in self._connection.execute(lots)]
            jobs = select(JobRow.id).where(
                JobRow.firm_id == firm_id, JobRow.id.in_(sorted({job for _, job in in_loads}))
            )
            still = set(self._held(jobs, JobRow))
            found -= {load_id for load_id, job_id in in_loads if job_id not in still}
        return found

    def _held(self, asked: Select[Any], row: type[LoadRow | JobRow]) -> Iterator[UUID]:
        of = asked.order_by(row.id).with_for_update(read=True, skip_locked=True)
        yield from self._connection.execute(of).scalars()

    def keep(self, firm_id: UUID, loads: Sequence[WeighedLoad]) -> None:
        """Keep what was worked out of some loads that are standing."""
        if loads:
            self._connection.execute(
                _WORKED_OUT,
                [
                    {
                        "of_firm": firm_id,
                        "load": load.load_id,
                        "group": load.grass_group,
                        "on": load.lawn,
                        "estimated": load.estimated_kg,
                        "weighed": load.weighed_kg,
                    }
                    for load in loads
                ],
            )


def follow_loads(connection: Connection, loads: Sequence[Load], *, fresh: bool) -> None:
    """Keep which loads have an accepted ticket, after loads were written."""
    rows = [
        {
            "firm_id": load.firm_id,
            "load_id": load.id,
            "weighed_at": load.arrive_at,
            "is_as_recorded": False,
            "grass_group": "",
            "lawn": "",
            "estimated_kg": 0.0,
            "weighed_kg": 0.0,
        }
        for load in sorted(loads, key=lambda load: load.id)
        if load.has_accepted_ticket
    ]
    if rows:
        connection.execute(_WEIGHED[connection.dialect.name], rows)
    others = () if fresh else [load.id for load in loads if not load.has_accepted_ticket]
    for some in in_chunks(others):
        mine = WeighedLoadRow.firm_id == loads[0].firm_id
        connection.execute(delete(WeighedLoadRow).where(mine, WeighedLoadRow.load_id.in_(some)))


def follow_jobs(connection: Connection, firm_id: UUID, job_ids: Sequence[UUID]) -> None:
    """Have what tickets say of some jobs worked out anew, after jobs were written."""
    for some in in_chunks(job_ids):
        loads = select(LoadLotRow.load_id).where(
            LoadLotRow.firm_id == firm_id, LoadLotRow.job_id.in_(some)
        )
        said = update(WeighedLoadRow).where(
            WeighedLoadRow.firm_id == firm_id, WeighedLoadRow.load_id.in_(loads)
        )
        connection.execute(said.values(is_as_recorded=False))

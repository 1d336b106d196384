"""What accepted weigh tickets say, in small rows beside the records they follow from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Select, and_, bindparam, case, delete, func, select

from service.core.loads import TicketReview
from service.storage.mapping import RecordMapping
from service.storage.tables.papers import LoadRow, TicketPartRow
from service.storage.tables.work import JobRow
from service.usecases.base.kept_beside import TicketPart, WeighedLoad

PARTS = RecordMapping(TicketPart, TicketPartRow, "ticket part")
# Made once: building them would take longer than the database does.
_OF_FIRM = (
    select(LoadRow.id)
    .where(
        LoadRow.firm_id == bindparam("firm"),
        LoadRow.ticket_review == TicketReview.ACCEPTED.value,
        LoadRow.weighed_net_si_value > 0,
    )
    .order_by(LoadRow.arrive_at.desc(), LoadRow.id.desc())
    .limit(bindparam("of_firm"))
)
_RANKED = (
    select(
        TicketPartRow.load_id,
        func.row_number()
        .over(partition_by=TicketPartRow.lawn, order_by=TicketPartRow.weighed_at.desc())
        .label("rank"),
    )
    .where(
        TicketPartRow.firm_id == bindparam("firm"),
        TicketPartRow.lawn.in_(bindparam("lawns", expanding=True)),
    )
    .subquery()
)
_OF_LAWNS = select(_RANKED.c.load_id).where(_RANKED.c.rank <= bindparam("of_lawn"))
# A load of a round has a dozen lots: they are put together by the database, as `together` does it,
# so that no more than a row a load is read. Without a part that is kept no job is joined, and its
# version is missing.
_IS_AS_KEPT = and_(
    TicketPartRow.load_version == LoadRow.version, TicketPartRow.job_version == JobRow.version
)
_PARTS = (
    select(
        LoadRow.id,
        TicketPartRow.grass_group,
        TicketPartRow.lawn,
        TicketPartRow.weighed_at,
        func.sum(TicketPartRow.estimated_kg).over(partition_by=LoadRow.id).label("estimated_kg"),
        TicketPartRow.weighed_kg,
        func.min(case((_IS_AS_KEPT, 1), else_=0)).over(partition_by=LoadRow.id).label("is_as_kept"),
        func.row_number()
        .over(
            partition_by=LoadRow.id,
            order_by=(TicketPartRow.estimated_kg.desc(), TicketPartRow.job_id.desc()),
        )
        .label("place"),
    )
    .outerjoin(
        TicketPartRow,
        and_(TicketPartRow.firm_id == LoadRow.firm_id, TicketPartRow.load_id == LoadRow.id),
    )
    .outerjoin(
        JobRow,
        and_(JobRow.firm_id == TicketPartRow.firm_id, JobRow.id == TicketPartRow.job_id),
    )
    .where(
        LoadRow.firm_id == bindparam("firm"),
        LoadRow.ticket_review == TicketReview.ACCEPTED.value,
        LoadRow.weighed_net_si_value > 0,
        # One set of ids: with an "or" between two, all loads of the firm would be read.
        LoadRow.id.in_(select(_OF_FIRM.subquery().c.id).union(_OF_LAWNS)),
    )
    .subquery()
)
_NEWEST: Select[Any] = select(*list(_PARTS.c)[:-1]).where(_PARTS.c.place == 1)
_FORGET = delete(TicketPartRow).where(
    TicketPartRow.firm_id == bindparam("firm"),
    TicketPartRow.load_id.in_(bindparam("loads", expanding=True)),
)


class TableTicketParts:
    """Parts of weighed loads."""

    def __init__(self, connection: Connection) -> None:
        """Work in the transaction of the connection."""
        self._connection = connection

    def newest(
        self, firm_id: UUID, *, of_firm: int, lawns: Sequence[str], of_lawn: int
    ) -> tuple[list[WeighedLoad], list[UUID]]:
        """Return what the newest tickets say, and the loads whose parts must be worked out."""
        asked = {"firm": firm_id, "of_firm": of_firm, "lawns": list(lawns), "of_lawn": of_lawn}
        loads: list[WeighedLoad] = []
        overtaken: list[UUID] = []
        for (
            load_id,
            group,
            lawn,
            at,
            estimated_kg,
            weighed_kg,
            is_as_kept,
        ) in self._connection.execute(_NEWEST, asked):
            if not is_as_kept:
                overtaken.append(load_id)
                continue
            loads.append(
                WeighedLoad(
                    load_id=load_id,
                    grass_group=group,
                    lawn=lawn,
                    weighed_at=at,
                    estimated_kg=estimated_kg,
                    weighed_kg=weighed_kg,
                )
            )
        return loads, sorted(overtaken)

    def keep(self, parts: Sequence[TicketPart]) -> None:
        """Keep the parts in place of what was kept of their loads."""
        if not parts:
            return
        loads = sorted({part.load_id for part in parts})
        self._connection.execute(_FORGET, {"firm": parts[0].firm_id, "loads": loads})
        # A rival that works the same out at the same time keeps the same.
        self._connection.execute(
            PARTS.insert[self._connection.dialect.name], [PARTS.to_row(part) for part in parts]
        )

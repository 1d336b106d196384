"""What accepted weigh tickets say, in small rows beside the records they follow from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Select, and_, bindparam, delete, func, select

from service.core.loads import TicketReview
from service.storage.mapping import RecordMapping
from service.storage.tables.papers import LoadRow, TicketPartRow
from service.storage.tables.work import JobRow
from service.usecases.base.ticket_parts import TicketPart

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
_NEWEST: Select[Any] = (
    select(*PARTS.columns, LoadRow.id, LoadRow.version, JobRow.version)
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
    .order_by(LoadRow.id, TicketPartRow.job_id)
)
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
    ) -> tuple[list[TicketPart], list[UUID]]:
        """Return the parts of the newest tickets, and the loads whose parts must be worked out."""
        asked = {"firm": firm_id, "of_firm": of_firm, "lawns": list(lawns), "of_lawn": of_lawn}
        parts: list[TicketPart] = []
        overtaken = set()
        for row in self._connection.execute(_NEWEST, asked):
            load_id, *versions = row[len(PARTS.columns) :]
            # Without a part that is kept, no job is joined, and its version is missing.
            part = None if versions[1] is None else PARTS.from_row(row)
            if part is None or [part.load_version, part.job_version] != versions:
                overtaken.add(load_id)
            else:
                parts.append(part)
        return [part for part in parts if part.load_id not in overtaken], sorted(overtaken)

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

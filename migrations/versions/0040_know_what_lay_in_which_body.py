"""Know what lay in which body: a row a stay beside jobs, in place of findings of clean lots."""

import json
from collections import defaultdict
from copy import deepcopy
from datetime import UTC, datetime
from uuid import UUID

import sqlalchemy as sa
from alembic import op

revision = "0040"
down_revision = "0039"
branch_labels = None
depends_on = None

# Of a firm; a body and since when it lay there, until when; from a body into another, and when.
Lot = tuple[UUID, UUID]
Lay = dict[tuple[UUID, datetime], datetime]
Move = tuple[UUID, UUID, datetime | None]
SAID = "(SELECT current_setting('clipping.firm_id', true))"
MIXED = "lay_in_one_body"
# Until when is in a body what nobody said to have left it.
STILL = datetime(9999, 1, 1, tzinfo=UTC)
STAYS = sa.table(
    "body_stays",
    *(sa.column(name, sa.Uuid()) for name in ("firm_id", "vehicle_id", "job_id")),
    *(sa.column(name, sa.DateTime(timezone=True)) for name in ("since", "until", "apart_until")),
)
JOBS = sa.table(
    "jobs",
    *(sa.column(name, sa.Uuid()) for name in ("firm_id", "id", "vehicle_id")),
    sa.column("lot_code"),
    sa.column("cut_at", sa.DateTime(timezone=True)),
    sa.column("findings", sa.JSON()),
)
AMENDMENTS = sa.table(
    "amendments",
    *(sa.column(name, sa.Uuid()) for name in ("firm_id", "record_id")),
    *map(sa.column, ("record_kind", "record_version")),
    sa.column("at", sa.DateTime(timezone=True)),
    sa.column("changes"),
)
# A stay is from the first entry into a body to the last one out of it, of those that stand. Of what
# is aboard the end is later than any hour.
BY_THE_BOOK = """
    WITH stands AS (
        SELECT one.* FROM mass_movements AS one
        LEFT JOIN mass_movements AS back
            ON back.firm_id = one.firm_id AND back.corrects_id = one.id
        WHERE one.corrects_id IS NULL AND back.id IS NULL
    ),
    lefts AS (
        SELECT firm_id, from_id, lot_id, happened_at FROM stands WHERE from_kind = 'vehicle'
        UNION ALL
        SELECT firm_id, place_id, lot_id, :still FROM mass_balances
        WHERE place_kind = 'vehicle' AND share > 0.000001
    )
    INSERT INTO body_stays (firm_id, vehicle_id, job_id, since, until)
    SELECT ins.firm_id, ins.to_id, ins.lot_id, min(ins.happened_at),
        coalesce(max(lefts.happened_at), min(ins.happened_at))
    FROM stands AS ins
    LEFT JOIN lefts ON lefts.firm_id = ins.firm_id AND lefts.lot_id = ins.lot_id
        AND lefts.from_id = ins.to_id AND lefts.happened_at >= ins.happened_at
    JOIN jobs ON jobs.firm_id = ins.firm_id AND jobs.id = ins.lot_id
    WHERE ins.to_kind = 'vehicle'
    GROUP BY ins.firm_id, ins.to_id, ins.lot_id
"""


def upgrade() -> None:
    """Make the table, fill it by the mass book and the history, and take the findings away."""
    _make()
    connection = op.get_bind()
    still = sa.bindparam("still", _kept(STILL, connection), sa.DateTime(timezone=True))
    connection.execute(sa.text(BY_THE_BOOK).bindparams(still))
    asked = sa.select(JOBS.c.firm_id, JOBS.c.id, JOBS.c.findings)
    told = connection.execute(
        asked.where(sa.cast(JOBS.c.findings, sa.Text()).contains(MIXED))
    ).all()
    moves = _moves(connection)
    stays = _stays_by_the_book(connection)
    kept = deepcopy(stays)
    for (firm_id, job_id), own in moves.items():
        _fork_over(connection, firm_id, job_id, own, stays[firm_id, job_id])
    for firm_id, job_id, findings in told:
        _lay_with(firm_id, job_id, findings, stays, moves)
    _put(connection, {lot: lay for lot, lay in stays.items() if lay != kept[lot]})
    for firm_id, job_id, at, changes in _changes_of_jobs(connection, "lay_with"):
        was, became = changes.get("findings") or ((), ())
        if "lay_with" in changes or (_is_mixed(was) and not _is_mixed(became)):
            mine = (STAYS.c.firm_id == firm_id, STAYS.c.job_id == job_id)
            connection.execute(sa.update(STAYS).where(*mine).values(apart_until=at))
    for firm_id, job_id, findings in told:
        left = [one for one in findings if (one["code"], one["status"]) != (MIXED, "clean")]
        _write(connection, firm_id, job_id, left)
    _wall()


def downgrade() -> None:
    """Make the findings again: of what lay together, and since when each counts as the other."""
    connection = op.get_bind()
    mine, beside = STAYS.alias("mine"), STAYS.alias("beside")
    later = sa.case((mine.c.since > beside.c.since, mine.c.since), else_=beside.c.since)
    asked = sa.select(
        mine.c.firm_id, mine.c.job_id, later.label("at"), JOBS.c.id, JOBS.c.lot_code
    ).where(
        beside.c.firm_id == mine.c.firm_id,
        beside.c.vehicle_id == mine.c.vehicle_id,
        beside.c.job_id != mine.c.job_id,
        beside.c.since <= mine.c.until,
        beside.c.until >= mine.c.since,
        *(sa.or_(one.c.apart_until.is_(None), one.c.apart_until < later) for one in (mine, beside)),
        JOBS.c.firm_id == mine.c.firm_id,
        JOBS.c.id == beside.c.job_id,
    )
    lay = defaultdict(lambda: defaultdict(dict))
    for firm_id, job_id, at, other_id, code in connection.execute(asked):
        lay[firm_id, job_id][_moment(at).isoformat()][str(other_id)] = code
    for (firm_id, job_id), moments in lay.items():
        found = sa.select(JOBS.c.findings).where(JOBS.c.firm_id == firm_id, JOBS.c.id == job_id)
        findings = connection.execute(found).scalar_one()
        for at, others in sorted(moments.items()):
            facts = {"lay_with": ", ".join(sorted(others.values())), "at": at}
            facts["job_ids"] = sorted(others)
            findings.append({"status": "clean", "code": MIXED, "facts": facts})
        _write(connection, firm_id, job_id, findings)
    op.drop_table("body_stays")


def _moves(connection: sa.Connection) -> dict[Lot, list[Move]]:
    """Return which body each lot was said to be in instead of which, in the order of telling."""
    found = defaultdict(list)
    for firm_id, job_id, _, changes in _changes_of_jobs(connection, "vehicle_id"):
        if "vehicle_id" not in changes:
            continue
        giver, taker = (UUID(one["$uuid"]) for one in changes["vehicle_id"])
        _, hour = changes.get("taken_over_at", (None, None))
        found[firm_id, job_id].append((giver, taker, hour and datetime.fromisoformat(hour)))
    return found


def _fork_over(
    connection: sa.Connection, firm_id: UUID, job_id: UUID, moves: list[Move], lay: Lay
) -> None:
    """Let a lot that was forked over have been in each giver's body until then.

    The book says of such a lot that it was cut into the body that it is in now. A move without an
    hour corrects the body before it, in which the lot never was.
    """
    of_job = (JOBS.c.firm_id == firm_id, JOBS.c.id == job_id, JOBS.c.cut_at.is_not(None))
    asked = sa.select(JOBS.c.vehicle_id, JOBS.c.cut_at).where(*of_job)
    for vehicle_id, at in connection.execute(asked):
        cut_at = _moment(at)
        given, (body, since) = _walked(moves, cut_at)
        until = lay.get((vehicle_id, cut_at))
        if until is None or body != vehicle_id:
            return
        del lay[vehicle_id, cut_at]
        for giver, begun, left in given:
            for other in [one for one in lay if one[0] == giver and begun <= one[1] <= left]:
                del lay[other]
            lay[giver, begun] = left
        lay[body, since] = max(until, since, lay.get((body, since), since))


def _walked(
    moves: list[Move], cut_at: datetime
) -> tuple[list[tuple[UUID, datetime, datetime]], tuple[UUID, datetime]]:
    """Return the bodies that a lot left, from when until when, and the one it is in since when."""
    given, (body, since) = [], (moves[0][0], cut_at)
    for _, taker, hour in moves:
        if hour is not None and hour >= cut_at:
            given.append((body, since, max(since, hour)))
            body, since = taker, hour
            continue
        # If it was given by that body, it never left.
        back = next((one for one in reversed(given) if one[0] == taker), (taker, cut_at, None))
        given = [one for one in given if one != back]
        body, since = taker, back[1]
    return given, (body, since)


def _lay_with(
    firm_id: UUID,
    job_id: UUID,
    findings: list,
    stays: dict[Lot, Lay],
    moves: dict[Lot, list[Move]],
) -> None:
    """Let a lot have been in one body with those that its findings name, whatever was said since.

    In which body it was is told by the one of both that was not said to be in another.
    """
    for one in findings:
        if one["code"] != MIXED or "job_ids" not in one["facts"]:
            continue
        at = _moment(datetime.fromisoformat(one["facts"]["at"]))
        for other_id in map(UUID, one["facts"]["job_ids"]):
            pair = sorted(
                ((firm_id, job_id), (firm_id, other_id)), key=lambda lot: (lot in moves, lot)
            )
            mine, beside = (stays.get(lot, {}) for lot in pair)
            if not mine or not beside or _is_together(mine, beside):
                continue
            there = [lay for lay in (mine, beside) if _bodies(lay, at)] or [mine]
            body = (_bodies(there[0], at) or [next(iter(there[0]))[0]])[0]
            for lay in (mine, beside):
                if body not in _bodies(lay, at):
                    lay[body, at] = at


def _is_together(mine: Lay, beside: Lay) -> bool:
    return any(
        one == other and since <= left and begun <= until
        for (one, since), until in mine.items()
        for (other, begun), left in beside.items()
    )


def _bodies(lay: Lay, at: datetime) -> list[UUID]:
    return [body for (body, since), until in sorted(lay.items()) if since <= at <= until]


def _stays_by_the_book(connection: sa.Connection) -> defaultdict[Lot, Lay]:
    """Return from when until when each lot was in which body."""
    found = defaultdict(dict)
    row = STAYS.c
    asked = sa.select(row.firm_id, row.job_id, row.vehicle_id, row.since, row.until)
    for firm_id, job_id, body, since, until in connection.execute(asked):
        found[firm_id, job_id][body, _moment(since)] = _moment(until)
    return found


def _put(connection: sa.Connection, stays: dict[Lot, Lay]) -> None:
    for (firm_id, job_id), lay in stays.items():
        mine = (STAYS.c.firm_id == firm_id, STAYS.c.job_id == job_id)
        connection.execute(sa.delete(STAYS).where(*mine))
        for (body, since), until in lay.items():
            values = {"firm_id": firm_id, "vehicle_id": body, "job_id": job_id}
            hours = {"since": _kept(since, connection), "until": _kept(until, connection)}
            connection.execute(sa.insert(STAYS).values(**values, **hours))


def _changes_of_jobs(connection: sa.Connection, word: str) -> list[tuple]:
    """Return what was changed of jobs in words of the history, oldest first."""
    text = sa.cast(AMENDMENTS.c.changes, sa.Text())
    asked = (
        sa.select(AMENDMENTS.c.firm_id, AMENDMENTS.c.record_id, AMENDMENTS.c.at, text)
        .where(AMENDMENTS.c.record_kind == "jobs", text.contains(word))
        .order_by(AMENDMENTS.c.record_version)
    )
    found = connection.execute(asked).all()
    return [(firm_id, job_id, at, json.loads(told)) for firm_id, job_id, at, told in found]


def _is_mixed(findings: list) -> bool:
    return any(one["code"] == MIXED for one in findings)


def _write(connection: sa.Connection, firm_id: UUID, job_id: UUID, findings: list) -> None:
    mine = (JOBS.c.firm_id == firm_id, JOBS.c.id == job_id)
    connection.execute(sa.update(JOBS).where(*mine).values(findings=findings))


def _moment(at: datetime) -> datetime:
    """Return a moment in UTC: SQLite keeps no zone."""
    return at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)


def _kept(at: datetime, connection: sa.Connection) -> datetime:
    """Return a moment as it is kept."""
    moment = at.astimezone(UTC)
    return moment.replace(tzinfo=None) if connection.dialect.name == "sqlite" else moment


def _make() -> None:
    op.create_table(
        "body_stays",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("vehicle_id", sa.Uuid(), nullable=False),
        sa.Column("job_id", sa.Uuid(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("apart_until", sa.DateTime(timezone=True), nullable=True),
        *(
            sa.ForeignKeyConstraint(
                ["firm_id", f"{one}_id"],
                [f"{one}s.firm_id", f"{one}s.id"],
                name=op.f(f"fk_body_stays_firm_id_{one}_id"),
            )
            for one in ("job", "vehicle")
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_body_stays_firm_id")),
        sa.PrimaryKeyConstraint(
            "firm_id", "vehicle_id", "job_id", "since", name=op.f("pk_body_stays")
        ),
    )
    for fields in (["job_id"], ["vehicle_id", "until"]):
        op.create_index(
            f"ix_body_stays_firm_id_{'_'.join(fields)}", "body_stays", ["firm_id", *fields]
        )


def _wall() -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE POLICY own_firm ON body_stays"
            f" USING ({SAID} = firm_id::text OR {SAID} = 'every')"
        )
        op.execute("ALTER TABLE body_stays ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE body_stays FORCE ROW LEVEL SECURITY")

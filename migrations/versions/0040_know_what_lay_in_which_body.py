"""Know what lay in which body: a row a stay beside jobs, in place of findings of clean lots."""

import json
from collections import defaultdict
from datetime import UTC, datetime
from uuid import UUID

import sqlalchemy as sa
from alembic import op

revision = "0040"
down_revision = "0039"
branch_labels = None
depends_on = None

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
    for firm_id, job_id, _, changes in _changes_of_jobs(connection, "taken_over_at"):
        _fork_over(connection, firm_id, job_id, changes)
    for firm_id, job_id, at, changes in _changes_of_jobs(connection, "lay_with"):
        was, became = changes.get("findings") or ((), ())
        if "lay_with" in changes or (_is_mixed(was) and not _is_mixed(became)):
            mine = (STAYS.c.firm_id == firm_id, STAYS.c.job_id == job_id)
            connection.execute(sa.update(STAYS).where(*mine).values(apart_until=at))
    asked = sa.select(JOBS.c.firm_id, JOBS.c.id, JOBS.c.findings)
    told = sa.cast(JOBS.c.findings, sa.Text()).contains(MIXED)
    for firm_id, job_id, findings in connection.execute(asked.where(told)).all():
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


def _fork_over(connection: sa.Connection, firm_id: UUID, job_id: UUID, changes: dict) -> None:
    """Let a lot that was forked over have been in the giver's body until then, and since in its own.

    The book says of such a lot that it was cut into the body that it is in now.
    """
    if "vehicle_id" not in changes:
        return
    giver, taker = (UUID(one["$uuid"]) for one in changes["vehicle_id"])
    hour = datetime.fromisoformat(changes["taken_over_at"][1])
    of_job = (JOBS.c.firm_id == firm_id, JOBS.c.id == job_id, JOBS.c.vehicle_id == taker)
    cut_at = connection.execute(sa.select(JOBS.c.cut_at).where(*of_job)).scalar()
    if cut_at is None or _moment(cut_at) > hour:
        return
    mine = (STAYS.c.firm_id == firm_id, STAYS.c.job_id == job_id)
    kept = _kept(hour, connection)
    given = (*mine, STAYS.c.vehicle_id == giver)
    connection.execute(sa.delete(STAYS).where(*given))
    values = {"firm_id": firm_id, "vehicle_id": giver, "job_id": job_id}
    connection.execute(sa.insert(STAYS).values(**values, since=cut_at, until=kept))
    taken = (*mine, STAYS.c.vehicle_id == taker)
    until = sa.case((STAYS.c.until < kept, kept), else_=STAYS.c.until)
    connection.execute(sa.update(STAYS).where(*taken).values(since=kept, until=until))


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

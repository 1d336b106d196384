"""Keep what was known of loads as their recall was ended: what is learned later is told again."""

from collections import defaultdict
from uuid import UUID

import sqlalchemy as sa
from alembic import op

revision = "0041"
down_revision = "0040"
branch_labels = None
depends_on = None

SAID = "(SELECT current_setting('clipping.firm_id', true))"
HARMLESS = {"clean", "sour"}
SETTLED = sa.table(
    "settled_loads",
    *(sa.column(name, sa.Uuid()) for name in ("firm_id", "load_id")),
    sa.column("known", sa.JSON()),
)
RECALLS = sa.table(
    "recalls",
    sa.column("firm_id", sa.Uuid()),
    sa.column("is_open", sa.Boolean()),
    sa.column("load_ids", sa.JSON()),
)
LOTS = sa.table(
    "load_lots", *(sa.column(name, sa.Uuid()) for name in ("firm_id", "load_id", "job_id"))
)
JOBS = sa.table(
    "jobs",
    *(sa.column(name, sa.Uuid()) for name in ("firm_id", "id")),
    sa.column("findings", sa.JSON()),
)
LOADS = sa.table("loads", *(sa.column(name, sa.Uuid()) for name in ("firm_id", "id")))


def upgrade() -> None:
    """Make the table; of recalls that were ended before, all that is known by now was known."""
    op.create_table(
        "settled_loads",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("load_id", sa.Uuid(), nullable=False),
        sa.Column("known", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["firm_id", "load_id"],
            ["loads.firm_id", "loads.id"],
            name=op.f("fk_settled_loads_firm_id_load_id"),
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_settled_loads_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "load_id", name=op.f("pk_settled_loads")),
    )
    connection = op.get_bind()
    ended = sa.select(RECALLS.c.firm_id, RECALLS.c.load_ids).where(RECALLS.c.is_open == sa.false())
    recalled = defaultdict(set)
    for firm_id, load_ids in connection.execute(ended):
        recalled[firm_id] |= {UUID(str(load_id)) for load_id in load_ids}
    for firm_id, load_ids in recalled.items():
        for load_id in sorted(load_ids):
            _settle(connection, firm_id, load_id)
    if connection.dialect.name == "postgresql":
        op.execute(
            "CREATE POLICY own_firm ON settled_loads"
            f" USING ({SAID} = firm_id::text OR {SAID} = 'every')"
        )
        op.execute("ALTER TABLE settled_loads ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE settled_loads FORCE ROW LEVEL SECURITY")


def downgrade() -> None:
    """Take it away: an ended recall settles its loads, whatever is learned of them."""
    op.drop_table("settled_loads")


def _settle(connection: sa.Connection, firm_id: UUID, load_id: UUID) -> None:
    mine = (LOADS.c.firm_id == firm_id, LOADS.c.id == load_id)
    if connection.execute(sa.select(LOADS.c.id).where(*mine)).first() is None:
        return
    asked = (
        sa.select(JOBS.c.id, JOBS.c.findings)
        .join(LOTS, sa.and_(LOTS.c.firm_id == JOBS.c.firm_id, LOTS.c.job_id == JOBS.c.id))
        .where(LOTS.c.firm_id == firm_id, LOTS.c.load_id == load_id)
        .order_by(JOBS.c.id)
    )
    known = [
        {"job_id": str(job_id), **{name: one[name] for name in ("status", "code", "facts")}}
        for job_id, findings in connection.execute(asked).all()
        for one in findings
        if one["status"] not in HARMLESS
    ]
    connection.execute(sa.insert(SETTLED).values(firm_id=firm_id, load_id=load_id, known=known))

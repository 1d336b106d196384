"""Keep what a weigh ticket says in one row, which is written when its load or a job of it is."""

import sqlalchemy as sa
from alembic import op

revision = "0034"
down_revision = "0033"
branch_labels = None
depends_on = None

SAID = "(SELECT current_setting('clipping.firm_id', true))"


def upgrade() -> None:
    """Make a row of each accepted ticket, of the lawn it was of; the rest is worked out anew."""
    _weighed_loads()
    op.execute(
        "INSERT INTO weighed_loads (firm_id, load_id, weighed_at, is_as_recorded,"
        " grass_group, lawn, estimated_kg, weighed_kg)"
        " SELECT firm_id, id, arrive_at, false, '', coalesce("
        "(SELECT part.lawn FROM ticket_parts AS part WHERE part.firm_id = loads.firm_id"
        " AND part.load_id = loads.id ORDER BY part.estimated_kg DESC, part.job_id DESC LIMIT 1)"
        ", ''), 0, 0 FROM loads WHERE ticket_review = 'accepted' AND weighed_net_si_value > 0"
    )
    _wall("weighed_loads")
    op.drop_table("ticket_parts")


def downgrade() -> None:
    """Make the parts again: of each ticket one of its lawn, of no version, so made anew."""
    _ticket_parts()
    op.execute(
        "INSERT INTO ticket_parts (firm_id, load_id, job_id, load_version, job_version,"
        " grass_group, lawn, weighed_at, estimated_kg, weighed_kg)"
        " SELECT firm_id, load_id, (SELECT job_id FROM load_lots AS lot WHERE"
        " lot.firm_id = weighed_loads.firm_id AND lot.load_id = weighed_loads.load_id"
        " ORDER BY job_id LIMIT 1), 0, 0, grass_group, lawn, weighed_at, 0, 0 FROM weighed_loads"
        " WHERE EXISTS (SELECT 1 FROM load_lots AS lot WHERE"
        " lot.firm_id = weighed_loads.firm_id AND lot.load_id = weighed_loads.load_id)"
    )
    _wall("ticket_parts")
    op.drop_table("weighed_loads")


def _weighed_loads() -> None:
    op.create_table(
        "weighed_loads",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("load_id", sa.Uuid(), nullable=False),
        sa.Column("weighed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("is_as_recorded", sa.Boolean(), nullable=False),
        sa.Column("grass_group", sa.Text(), nullable=False),
        sa.Column("lawn", sa.Text(), nullable=False),
        sa.Column("estimated_kg", sa.Double(), nullable=False),
        sa.Column("weighed_kg", sa.Double(), nullable=False),
        *_amounts("weighed_loads"),
        sa.ForeignKeyConstraint(
            ["firm_id", "load_id"],
            ["loads.firm_id", "loads.id"],
            name=op.f("fk_weighed_loads_firm_id_load_id"),
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_weighed_loads_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "load_id", name=op.f("pk_weighed_loads")),
    )
    for fields in (["weighed_at", "load_id"], ["lawn", "weighed_at", "load_id"]):
        op.create_index(
            f"ix_weighed_loads_firm_id_{'_'.join(fields)}", "weighed_loads", ["firm_id", *fields]
        )


def _ticket_parts() -> None:
    """Make the table as it was drawn by 0005."""
    op.create_table(
        "ticket_parts",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("load_id", sa.Uuid(), nullable=False),
        sa.Column("job_id", sa.Uuid(), nullable=False),
        sa.Column("load_version", sa.BigInteger(), nullable=False),
        sa.Column("job_version", sa.BigInteger(), nullable=False),
        sa.Column("grass_group", sa.Text(), nullable=False),
        sa.Column("lawn", sa.Text(), nullable=False),
        sa.Column("weighed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("estimated_kg", sa.Double(), nullable=False),
        sa.Column("weighed_kg", sa.Double(), nullable=False),
        *_amounts("ticket_parts"),
        *(
            sa.ForeignKeyConstraint(
                ["firm_id", f"{one}_id"],
                [f"{one}s.firm_id", f"{one}s.id"],
                name=op.f(f"fk_ticket_parts_firm_id_{one}_id"),
            )
            for one in ("job", "load")
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_ticket_parts_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "load_id", "job_id", name=op.f("pk_ticket_parts")),
    )
    for fields in (["job_id"], ["lawn", "weighed_at"]):
        op.create_index(
            f"ix_ticket_parts_firm_id_{'_'.join(fields)}", "ticket_parts", ["firm_id", *fields]
        )


def _amounts(table: str) -> list[sa.CheckConstraint]:
    return [
        sa.CheckConstraint(f"{name} >= 0 AND {name} < 1e300", name=op.f(f"ck_{table}_{name}"))
        for name in ("estimated_kg", "weighed_kg")
    ]


def _wall(table: str) -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE POLICY own_firm ON {table} USING ({SAID} = firm_id::text OR {SAID} = 'every')"
        )
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")

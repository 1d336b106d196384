"""Let searches be on record."""

import sqlalchemy as sa
from alembic import op

revision = "0055"
down_revision = "0054"
branch_labels = None
depends_on = None

SAID = "(SELECT current_setting('clipping.firm_id', true))"
TABLE = "searches"
WALL = (
    f"CREATE POLICY own_firm ON {TABLE} USING ({SAID} = firm_id::text OR {SAID} = 'every')",
    f"ALTER TABLE {TABLE} ENABLE ROW LEVEL SECURITY",
    f"ALTER TABLE {TABLE} FORCE ROW LEVEL SECURITY",
)


def upgrade() -> None:
    """Make the table, behind the wall between firms."""
    op.create_table(
        TABLE,
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("key_id", sa.Uuid(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("wanted", sa.JSON(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("looked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.BigInteger(), nullable=False),
        sa.Column("holder", sa.Uuid(), nullable=True),
        sa.Column("until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("answer", sa.JSON(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('what_if', 'order_proposal', 'day_plan')", name=op.f("ck_searches_kind")
        ),
        sa.CheckConstraint(
            "role IN ('owner', 'dispatcher', 'crew', 'site', 'client', 'integrator')",
            name=op.f("ck_searches_role"),
        ),
        sa.CheckConstraint(
            "state IN ('queued', 'running', 'done', 'cancelled', 'failed')",
            name=op.f("ck_searches_state"),
        ),
        sa.CheckConstraint("tries >= 0", name=op.f("ck_searches_tries")),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_searches_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "id", name=op.f("pk_searches")),
    )
    op.create_index("ix_searches_firm_id_state", TABLE, ["firm_id", "state"])
    if op.get_bind().dialect.name == "postgresql":
        for statement in WALL:
            op.execute(statement)


def downgrade() -> None:
    """Take it away: whoever asks waits for the answer."""
    op.drop_table(TABLE)

"""Let a depot's day be closed, and keep what it came to."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; nobody closed a day before."""
    op.create_table(
        "day_closings",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("depot_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("key_id", sa.Uuid(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.CheckConstraint("sequence >= 1", name=op.f("ck_day_closings_sequence")),
        sa.CheckConstraint("version >= 1", name=op.f("ck_day_closings_version")),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_day_closings_firm_id")),
        sa.ForeignKeyConstraint(
            ["firm_id", "depot_id"],
            ["depots.firm_id", "depots.id"],
            name=op.f("fk_day_closings_firm_id_depot_id"),
        ),
        sa.PrimaryKeyConstraint("firm_id", "id", name=op.f("pk_day_closings")),
        sa.UniqueConstraint(
            "firm_id",
            "depot_id",
            "day",
            "sequence",
            name=op.f("uq_day_closings_firm_id_depot_id_day_sequence"),
        ),
    )


def downgrade() -> None:
    """Take it away, and with it what days came to."""
    op.drop_table("day_closings")

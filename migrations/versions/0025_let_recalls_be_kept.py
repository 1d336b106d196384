"""Let a recall be begun, worked off and ended."""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; nobody began one before."""
    op.create_table(
        "recalls",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("job_ids", sa.JSON(), nullable=False),
        sa.Column("bed_ids", sa.JSON(), nullable=False),
        sa.Column("is_open", sa.Boolean(), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("key_id", sa.Uuid(), nullable=True),
        sa.Column("calls", sa.JSON(), nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_recalls_version")),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_recalls_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "id", name=op.f("pk_recalls")),
    )
    op.create_index("ix_recalls_firm_id_is_open", "recalls", ["firm_id", "is_open"])


def downgrade() -> None:
    """Take it away, and with it what was recalled."""
    op.drop_table("recalls")

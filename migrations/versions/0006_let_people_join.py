"""Let people join: sessions, made by a link that works once and kept by a cookie."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

TABLE = "sessions"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        TABLE,
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("seat", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("crew_id", sa.Uuid(), nullable=True),
        sa.Column("compost_site_id", sa.Uuid(), nullable=True),
        sa.Column("invited_by_id", sa.Uuid(), nullable=True),
        sa.Column("invited_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("link_until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("joined_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("secret_sha256", sa.Text(), nullable=True),
        sa.Column("until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("firm_id", "id"),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"]),
        sa.CheckConstraint("seat IN ('owner', 'dispatcher', 'crew', 'site')", name="seat"),
    )
    op.create_index(None, TABLE, ["id"], unique=True)
    op.create_index(None, TABLE, ["secret_sha256"], unique=True)


def downgrade() -> None:
    """Take it away, and let nobody in who joined."""
    op.drop_table(TABLE)

"""Let the addresses of a place's calendar be withdrawn."""

import sqlalchemy as sa
from alembic import op

revision = "0030"
down_revision = "0029"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns: none was withdrawn before."""
    for table in ("beds", "compost_sites"):
        op.add_column(table, sa.Column("feeds_ended_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    """Take them away."""
    for table in ("beds", "compost_sites"):
        op.execute(f"ALTER TABLE {table} DROP COLUMN feeds_ended_at")

"""Let a gate say that a load is there before its grass is on record as mown."""

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column: nobody said so before."""
    op.add_column("loads", sa.Column("at_gate_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    """Take it away; the locks stay."""
    op.execute("ALTER TABLE loads DROP COLUMN at_gate_at")

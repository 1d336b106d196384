"""Let a hold entry keep the temperatures that were measured in its heap."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column: in what is held already nobody measured."""
    op.add_column("hold_entries", sa.Column("temperatures", sa.JSON(), nullable=True))


def downgrade() -> None:
    """Take it away, and with it what was measured."""
    op.execute("ALTER TABLE hold_entries DROP COLUMN temperatures")

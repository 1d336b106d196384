"""Let the gate of a compost site be opened by a link that joins no device."""

import sqlalchemy as sa
from alembic import op

revision = "0032"
down_revision = "0031"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column: every session until now is of a device."""
    op.add_column(
        "sessions", sa.Column("by_link", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    with op.batch_alter_table("sessions") as batch:
        batch.alter_column("by_link", server_default=None)


def downgrade() -> None:
    """Take it away; links to gates open nothing any more."""
    op.execute("ALTER TABLE sessions DROP COLUMN by_link")

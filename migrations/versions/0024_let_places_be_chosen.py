"""Let a load's place be chosen by hand, and forget what tickets of refused parts taught."""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns: nobody chose before."""
    op.add_column("loads", sa.Column("override_reason", sa.Text(), nullable=True))
    op.add_column("loads", sa.Column("chosen_by_id", sa.Uuid(), nullable=True))
    # What these taught was counted as of the whole load; it is worked out again when asked for.
    op.execute(
        "DELETE FROM ticket_parts WHERE EXISTS (SELECT 1 FROM loads"
        " WHERE loads.firm_id = ticket_parts.firm_id AND loads.id = ticket_parts.load_id"
        " AND loads.state = 'partly_refused')"
    )


def downgrade() -> None:
    """Take them away; the locks stay."""
    op.execute("ALTER TABLE loads DROP COLUMN chosen_by_id")
    op.execute("ALTER TABLE loads DROP COLUMN override_reason")

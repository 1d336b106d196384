"""Let leaves of trees have come up with the grass of a job."""

import sqlalchemy as sa
from alembic import op

revision = "0047"
down_revision = "0046"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add it: of what was cut before, nobody said so."""
    op.add_column(
        "jobs",
        sa.Column("leaves_mixed", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
    with op.batch_alter_table("jobs") as batch:
        batch.alter_column("leaves_mixed", server_default=None)


def downgrade() -> None:
    """Take it away: what came up with the grass counts as grass again."""
    op.execute("ALTER TABLE jobs DROP COLUMN leaves_mixed")

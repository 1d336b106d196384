"""Let a bed have hours, and days on which its client wants nothing."""

import sqlalchemy as sa
from alembic import op

revision = "0033"
down_revision = "0032"
branch_labels = None
depends_on = None

COLUMNS = ("hours", "closed_on")


def upgrade() -> None:
    """Add them: without any, a bed is come to at any time, as before."""
    for column in COLUMNS:
        op.add_column(
            "beds", sa.Column(column, sa.JSON(), nullable=False, server_default=sa.text("'[]'"))
        )
    with op.batch_alter_table("beds") as batch:
        for column in COLUMNS:
            batch.alter_column(column, server_default=None)


def downgrade() -> None:
    """Take them away: no client's hours are kept any more."""
    for column in COLUMNS:
        op.execute(f"ALTER TABLE beds DROP COLUMN {column}")

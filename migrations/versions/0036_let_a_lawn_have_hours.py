"""Let a lawn have hours at which it may be mown."""

import sqlalchemy as sa
from alembic import op

revision = "0036"
down_revision = "0035"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add them: without any, a lawn is mown at any time, as before."""
    op.add_column(
        "lawns",
        sa.Column("mowing_hours", sa.JSON(), nullable=False, server_default=sa.text("'[]'")),
    )
    with op.batch_alter_table("lawns") as batch:
        batch.alter_column("mowing_hours", server_default=None)


def downgrade() -> None:
    """Take them away: no lawn's hours are kept any more."""
    op.execute("ALTER TABLE lawns DROP COLUMN mowing_hours")

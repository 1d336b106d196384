"""Let a treatment say whether plants grew well in clippings cut after it."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column: of what is kept nobody has grown any."""
    op.add_column("treatments", sa.Column("bioassay", sa.JSON(), nullable=True))


def downgrade() -> None:
    """Take it away, and with it what was said."""
    op.execute("ALTER TABLE treatments DROP COLUMN bioassay")

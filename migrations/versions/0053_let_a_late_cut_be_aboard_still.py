"""Let somebody say that a cut which was told only after a tip is aboard still."""

import sqlalchemy as sa
from alembic import op

revision = "0053"
down_revision = "0052"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the word: of cuts of before, nobody said it."""
    op.add_column("jobs", sa.Column("aboard_after", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    """Take it away: it is asked again."""
    op.execute("ALTER TABLE jobs DROP COLUMN aboard_after")

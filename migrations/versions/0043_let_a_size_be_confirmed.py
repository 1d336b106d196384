"""Let somebody say that a cut is as large as recorded."""

import sqlalchemy as sa
from alembic import op

revision = "0043"
down_revision = "0042"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the word: of what was recorded before, nobody said it."""
    op.add_column("jobs", sa.Column("size_word", sa.JSON(), nullable=True))


def downgrade() -> None:
    """Take it away: what was confirmed is doubted again."""
    op.execute("ALTER TABLE jobs DROP COLUMN size_word")

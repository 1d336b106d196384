"""Let the link of a note end: whoever lost the paper can have it made useless."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

TABLE, COLUMN = "delivery_notes", "link_ended_at"


def upgrade() -> None:
    """Add the moment; no link has ended."""
    op.add_column(TABLE, sa.Column(COLUMN, sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    """Forget which links ended: they open their notes again."""
    with op.batch_alter_table(TABLE) as batch:
        batch.drop_column(COLUMN)

"""Let the terms of a site hold from a day."""

import sqlalchemy as sa
from alembic import op

revision = "0049"
down_revision = "0048"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the day and what held before: of sites of before nobody said, and nothing is kept."""
    op.add_column("compost_sites", sa.Column("terms_from", sa.Date(), nullable=True))
    none = sa.Column("terms_before", sa.JSON(), nullable=False, server_default="[]")
    op.add_column("compost_sites", none)
    with op.batch_alter_table("compost_sites") as changed:
        changed.alter_column("terms_before", server_default=None)


def downgrade() -> None:
    """Take them away: the terms on record are of every day."""
    op.execute("ALTER TABLE compost_sites DROP COLUMN terms_before")
    op.execute("ALTER TABLE compost_sites DROP COLUMN terms_from")

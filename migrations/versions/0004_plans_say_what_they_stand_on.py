"""Let a plan keep the versions of the records it was made from: clocks may not tell them apart."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; plans that are kept already have none, and their days are searched anew."""
    op.add_column("day_plans", sa.Column("record_versions", sa.JSON(), nullable=True))


def downgrade() -> None:
    """Take it away."""
    op.execute("ALTER TABLE day_plans DROP COLUMN record_versions")

"""Let a bed say which animals stand beside it, and whether a fence keeps grazing ones off."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns: of beds that are kept nobody looked yet."""
    op.add_column("beds", sa.Column("animals_beside", sa.JSON(), nullable=True))
    op.add_column("beds", sa.Column("grazing_fenced", sa.Boolean(), nullable=True))


def downgrade() -> None:
    """Take them away, and with them what was said."""
    for name in ("grazing_fenced", "animals_beside"):
        op.execute(f"ALTER TABLE beds DROP COLUMN {name}")

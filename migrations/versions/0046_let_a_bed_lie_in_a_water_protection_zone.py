"""Let a bed lie in a zone that protects drinking water."""

import sqlalchemy as sa
from alembic import op

revision = "0046"
down_revision = "0045"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the fact: of beds of before nobody has looked."""
    op.add_column("beds", sa.Column("water_protection_zone", sa.Boolean(), nullable=True))


def downgrade() -> None:
    """Take it away: no bed is known to lie in one."""
    op.execute("ALTER TABLE beds DROP COLUMN water_protection_zone")

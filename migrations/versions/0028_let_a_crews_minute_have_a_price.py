"""Let a depot say what a minute of a crew costs; nothing at first: then the rule holds."""

from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None

PRICE = "crew_minute_cents"


def upgrade() -> None:
    """Add the column, with its condition, in the one statement that both databases know."""
    op.execute(
        f"ALTER TABLE depots ADD COLUMN {PRICE} BIGINT "
        f"CONSTRAINT ck_depots_{PRICE} CHECK ({PRICE} >= 0)"
    )


def downgrade() -> None:
    """Take it away, and with it what was set."""
    op.execute(f"ALTER TABLE depots DROP COLUMN {PRICE}")

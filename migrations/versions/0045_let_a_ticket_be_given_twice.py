"""Let a weigh ticket name the load with which its number was given before."""

import sqlalchemy as sa
from alembic import op

revision = "0045"
down_revision = "0044"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add it: of tickets of before, nobody asked."""
    op.add_column("loads", sa.Column("ticket_like_id", sa.Uuid(), nullable=True))
    op.create_index(op.f("ix_loads_firm_id_weigh_ticket"), "loads", ["firm_id", "weigh_ticket"])


def downgrade() -> None:
    """Take it away: a ticket that was given twice counts twice again."""
    op.drop_index(op.f("ix_loads_firm_id_weigh_ticket"), "loads")
    op.execute("ALTER TABLE loads DROP COLUMN ticket_like_id")

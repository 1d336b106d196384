"""Let days wait to be planned by a process of its own."""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

TABLE = "planning_turns"


def upgrade() -> None:
    """Make the table: what is stale is found by the first sweep."""
    op.create_table(
        TABLE,
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("depot_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("holder", sa.Uuid(), nullable=True),
        sa.Column("until", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("firm_id", "depot_id", "day"),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"]),
        sa.ForeignKeyConstraint(["firm_id", "depot_id"], ["depots.firm_id", "depots.id"]),
    )


def downgrade() -> None:
    """Take it away: a day is planned when it is read."""
    op.drop_table(TABLE)

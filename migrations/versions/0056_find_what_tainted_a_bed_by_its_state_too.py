"""Let what tainted a bed be found by its state, too: SQLite took the index of states alone."""

from alembic import op

revision = "0056"
down_revision = "0055"
branch_labels = None
depends_on = None

BEFORE = "ix_loads_firm_id_destination_kind_status"
AFTER = "ix_loads_firm_id_destination_kind_status_state"


def upgrade() -> None:
    """Make the longer index, and drop the one that it begins with."""
    op.create_index(AFTER, "loads", ["firm_id", "destination_kind", "status", "state"])
    op.drop_index(BEFORE, "loads")


def downgrade() -> None:
    """Make the shorter one again."""
    op.create_index(BEFORE, "loads", ["firm_id", "destination_kind", "status"])
    op.drop_index(AFTER, "loads")

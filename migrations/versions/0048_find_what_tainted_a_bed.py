"""Let what tainted a bed be found by an index: all that ever lay on beds was read for it."""

from alembic import op

revision = "0048"
down_revision = "0047"
branch_labels = None
depends_on = None

NAME = "ix_loads_firm_id_destination_kind_status"


def upgrade() -> None:
    """Make the index."""
    op.create_index(NAME, "loads", ["firm_id", "destination_kind", "status"])


def downgrade() -> None:
    """Drop it."""
    op.drop_index(NAME, "loads")

"""Let a site show what its process ends, each kill by itself, and say whether it takes sour."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

NOTHING = "[]"


def upgrade() -> None:
    """Add the column; nothing is shown of a site until somebody says by what."""
    op.add_column(
        "compost_sites",
        sa.Column("kill_evidence", sa.JSON(), nullable=False, server_default=NOTHING),
    )
    op.add_column(
        "compost_sites",
        sa.Column("takes_sour", sa.Boolean(), nullable=False, server_default=sa.true()),
    )
    with op.batch_alter_table("compost_sites") as batch:
        batch.alter_column("kill_evidence", server_default=None)
        batch.alter_column("takes_sour", server_default=None)


def downgrade() -> None:
    """Take it away, and with it what was shown."""
    with op.batch_alter_table("compost_sites") as batch:
        batch.drop_column("kill_evidence")
        batch.drop_column("takes_sour")

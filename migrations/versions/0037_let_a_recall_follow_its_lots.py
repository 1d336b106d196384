"""Let a recall follow its lots: what was tipped of them since, and whom to call for it."""

import sqlalchemy as sa
from alembic import op

revision = "0037"
down_revision = "0036"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add it: of no recall anything is known to have been tipped since."""
    op.add_column(
        "recalls",
        sa.Column("brought_since", sa.JSON(), nullable=False, server_default=sa.text("'[]'")),
    )
    with op.batch_alter_table("recalls") as batch:
        batch.alter_column("brought_since", server_default=None)


def downgrade() -> None:
    """Take it away: a bed that was frozen since stays frozen until its recall is ended."""
    op.execute("ALTER TABLE recalls DROP COLUMN brought_since")

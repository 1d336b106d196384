"""Let what stood against a tip at a shut gate wait until it is settled."""

import sqlalchemy as sa
from alembic import op

revision = "0050"
down_revision = "0049"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the word: of tips of before nothing is kept that stood against them."""
    with op.batch_alter_table("loads", schema=None) as changed:
        changed.add_column(sa.Column("against_gate", sa.Text(), nullable=True))
        changed.create_index(
            changed.f("ix_loads_firm_id_against_gate"), ["firm_id", "against_gate"], unique=False
        )
        changed.create_check_constraint(
            changed.f("ck_loads_against_gate"),
            "against_gate IN ('outside_hours', 'said_closed', 'settled')",
        )


def downgrade() -> None:
    """Take it away: on the day after nobody is asked any more."""
    with op.batch_alter_table("loads", schema=None) as changed:
        changed.drop_constraint(changed.f("ck_loads_against_gate"), type_="check")
        changed.drop_index(changed.f("ix_loads_firm_id_against_gate"))
        changed.drop_column("against_gate")

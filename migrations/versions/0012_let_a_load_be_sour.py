"""Let a load be sour: clippings that stood too long are told apart from fresh ones."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

TABLES = ("hold_entries", "jobs", "loads", "mass_movements")
BEFORE = "'weedy', 'diseased', 'treated', 'unknown', 'littered'"


def upgrade() -> None:
    """Let the word be kept."""
    _allow(f"'clean', 'sour', {BEFORE}")


def downgrade() -> None:
    """Take the word away: what was sour is unknown, for it must not be taken for clean."""
    for table in TABLES:
        kept = sa.table(table, sa.column("status", sa.Text()))
        op.execute(kept.update().where(kept.c.status == "sour").values(status="unknown"))
    _allow(f"'clean', {BEFORE}")


def _allow(words: str) -> None:
    for table in TABLES:
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(batch.f(f"ck_{table}_status"), type_="check")
            batch.create_check_constraint(batch.f(f"ck_{table}_status"), f"status IN ({words})")

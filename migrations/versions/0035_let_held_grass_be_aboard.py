"""Let a hold entry keep what of it was loaded into which body, and the mass book say so."""

import sqlalchemy as sa
from alembic import op

revision = "0035"
down_revision = "0034"
branch_labels = None
depends_on = None

SINCE = "'tipped', 'released', 'opening'"


def upgrade() -> None:
    """Add them: what was brought on before came out of its bay in one go, as the book has it."""
    op.add_column("hold_entries", sa.Column("loadings", sa.JSON(), nullable=True))
    _allow(f"'cut', 'taken_over', 'loaded', {SINCE}")


def downgrade() -> None:
    """Take them away: what is aboard counts as in its bay again, and `check` tells the rest."""
    movements = sa.table("mass_movements", sa.column("cause", sa.Text()))
    op.execute(movements.update().where(movements.c.cause == "loaded").values(cause="taken_over"))
    _allow(f"'cut', 'taken_over', {SINCE}")
    op.execute("ALTER TABLE hold_entries DROP COLUMN loadings")


def _allow(words: str) -> None:
    with op.batch_alter_table("mass_movements") as batch:
        batch.drop_constraint(batch.f("ck_mass_movements_cause"), type_="check")
        batch.create_check_constraint(batch.f("ck_mass_movements_cause"), f"cause IN ({words})")

"""Let a weight go with what was weighed: what stays where it left counts as it did before."""

import sqlalchemy as sa
from alembic import op

revision = "0044"
down_revision = "0043"
branch_labels = None
depends_on = None

# Where the weighed left, its weight was taken off, and not what it counted as there.
BALANCES = """
    UPDATE mass_balances SET counted_kg = counted_kg {sign} (
        SELECT sum(one.counted_kg - one.counted_before_kg) FROM mass_movements AS one
        WHERE one.firm_id = mass_balances.firm_id AND one.lot_id = mass_balances.lot_id
        AND one.from_kind = mass_balances.place_kind AND one.from_id = mass_balances.place_id
        AND one.counted_before_kg IS NOT NULL
    ) WHERE EXISTS (
        SELECT 1 FROM mass_movements AS one
        WHERE one.firm_id = mass_balances.firm_id AND one.lot_id = mass_balances.lot_id
        AND one.from_kind = mass_balances.place_kind AND one.from_id = mass_balances.place_id
        AND one.counted_before_kg IS NOT NULL
    )
"""
# As the sums of places are made of those of lots: in billionths, each rounded.
PLACES = """
    UPDATE place_sums SET counted_kg = (
        SELECT CAST(sum(CAST(round(lot.counted_kg * 1e9) AS BIGINT)) AS BIGINT)
        FROM mass_balances AS lot
        WHERE lot.firm_id = place_sums.firm_id AND lot.place_kind = place_sums.place_kind
        AND lot.place_id = place_sums.place_id
    ) WHERE EXISTS (
        SELECT 1 FROM mass_balances AS lot
        WHERE lot.firm_id = place_sums.firm_id AND lot.place_kind = place_sums.place_kind
        AND lot.place_id = place_sums.place_id
    )
"""


def upgrade() -> None:
    """Add what the weighed counted as before, and let the sums be of it.

    It is what it was thought to be. Only of what had been weighed in a bay before, and was brought
    on from there, the book says otherwise than the records: `check --repair` enters it anew.
    """
    with op.batch_alter_table("mass_movements") as batch:
        batch.add_column(sa.Column("counted_before_kg", sa.Double(), nullable=True))
        batch.create_check_constraint(
            batch.f("ck_mass_movements_counted_before_kg"),
            "counted_before_kg > -1e300 AND counted_before_kg < 1e300",
        )
    op.execute(
        "UPDATE mass_movements SET counted_before_kg = mass_likely_kg WHERE weighed_kg IS NOT NULL"
    )
    op.execute(BALANCES.format(sign="+"))
    op.execute(PLACES)


def downgrade() -> None:
    """Take it away: the sums take a weight off where the weighed left, as they did."""
    op.execute(BALANCES.format(sign="-"))
    op.execute(PLACES)
    with op.batch_alter_table("mass_movements") as batch:
        batch.drop_constraint(batch.f("ck_mass_movements_counted_before_kg"), type_="check")
        batch.drop_column("counted_before_kg")

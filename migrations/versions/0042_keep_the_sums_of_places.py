"""Keep what is at every place in a row of its own: all lots of a season are not read for it."""

import sqlalchemy as sa
from alembic import op

revision = "0042"
down_revision = "0041"
branch_labels = None
depends_on = None

SAID = "(SELECT current_setting('clipping.firm_id', true))"
AMOUNTS = (
    "share",
    "mass_low_kg",
    "mass_likely_kg",
    "mass_high_kg",
    "nitrogen_low_kg",
    "nitrogen_likely_kg",
    "nitrogen_high_kg",
    "counted_kg",
)


def upgrade() -> None:
    """Make the table and fill it from the sums of lots, in billionths."""
    op.create_table(
        "place_sums",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("place_kind", sa.Text(), nullable=False),
        sa.Column("place_id", sa.Uuid(), nullable=False),
        *(sa.Column(name, sa.BigInteger(), nullable=False) for name in ("lots", *AMOUNTS)),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_place_sums_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "place_kind", "place_id", name=op.f("pk_place_sums")),
    )
    place = [sa.column(name) for name in ("firm_id", "place_kind", "place_id")]
    sums = [
        sa.cast(
            sa.func.sum(sa.cast(sa.func.round(sa.column(name) * 1e9), sa.BigInteger())),
            sa.BigInteger(),
        )
        for name in AMOUNTS
    ]
    balances = sa.table("mass_balances")
    found = sa.select(*place, sa.func.count(), *sums).select_from(balances).group_by(*place)
    names = [*(one.name for one in place), "lots", *AMOUNTS]
    filled = sa.table("place_sums", *(sa.column(name) for name in names))
    op.execute(sa.insert(filled).from_select(names, found))
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE POLICY own_firm ON place_sums USING ({SAID} = firm_id::text OR {SAID} = 'every')"
        )
        op.execute("ALTER TABLE place_sums ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE place_sums FORCE ROW LEVEL SECURITY")


def downgrade() -> None:
    """Drop it: it holds nothing that the sums of lots do not tell."""
    op.drop_table("place_sums")

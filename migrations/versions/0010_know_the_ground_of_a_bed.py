"""Let a bed say what kind of ground it is to the law: nobody knows of those that are kept."""

from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

KINDS = (
    "private_garden",
    "public_ground",
    "business_ground",
    "farm_holding",
    "farm_holding_in_nitrate_zone",
)


def upgrade() -> None:
    """Add the column with its condition, in one statement that both databases know."""
    words = ", ".join(f"'{kind}'" for kind in KINDS)
    op.execute(
        "ALTER TABLE beds ADD COLUMN ground_kind TEXT "
        f"CONSTRAINT ck_beds_ground_kind CHECK (ground_kind IN ({words}))"
    )


def downgrade() -> None:
    """Take it away, and with it what was said."""
    # Where the table was made anew since, the condition is the table's and not the column's.
    with op.batch_alter_table("beds") as batch:
        batch.drop_constraint("ground_kind", type_="check")
        batch.drop_column("ground_kind")

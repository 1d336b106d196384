"""Keep the nitrogen in what was weighed: of it a high end is not that of two estimates."""

import sqlalchemy as sa
from alembic import op

revision = "0039"
down_revision = "0038"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add it: entries made before have none, and count as they did."""
    with op.batch_alter_table("mass_movements") as batch:
        batch.add_column(sa.Column("weighed_nitrogen_kg", sa.Double(), nullable=True))
        batch.create_check_constraint(
            batch.f("ck_mass_movements_weighed_nitrogen_kg"),
            "weighed_nitrogen_kg > -1e300 AND weighed_nitrogen_kg < 1e300",
        )


def downgrade() -> None:
    """Take it away: nitrogen is scaled with the mass again."""
    with op.batch_alter_table("mass_movements") as batch:
        batch.drop_constraint(batch.f("ck_mass_movements_weighed_nitrogen_kg"), type_="check")
        batch.drop_column("weighed_nitrogen_kg")

"""Let a vehicle be out: broken down or in the workshop, from a moment on, on one day."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TABLE = "vehicle_outages"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        TABLE,
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("vehicle_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("out_since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("back_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("point_latitude", sa.Double(), nullable=True),
        sa.Column("point_longitude", sa.Double(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("firm_id", "id"),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"]),
        sa.ForeignKeyConstraint(["firm_id", "vehicle_id"], ["vehicles.firm_id", "vehicles.id"]),
        sa.CheckConstraint("version >= 1", name="version"),
        sa.CheckConstraint("back_at IS NULL OR back_at > out_since", name="back_after_out"),
        sa.CheckConstraint("point_latitude >= -90 AND point_latitude <= 90", name="point_latitude"),
        sa.CheckConstraint(
            "point_longitude >= -180 AND point_longitude <= 180", name="point_longitude"
        ),
        sa.CheckConstraint(
            "(point_latitude IS NULL) = (point_longitude IS NULL)", name="point_whole"
        ),
    )
    op.create_index(None, TABLE, ["firm_id", "vehicle_id"])
    op.create_index(None, TABLE, ["firm_id", "day"])


def downgrade() -> None:
    """Take it away, and with it what was reported."""
    op.drop_table(TABLE)

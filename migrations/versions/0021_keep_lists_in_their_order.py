"""Let lists be read in their order from an index."""

from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

# Table, what the index was on, what it is on now; all lead with the firm.
WIDENED = (
    ("jobs", ("property_id",), ("property_id", "id")),
    ("jobs", ("crew_id",), ("crew_id", "id")),
    ("jobs", ("vehicle_id",), ("vehicle_id", "id")),
    ("jobs", None, ("status", "id")),
    ("loads", ("plan_id",), ("plan_id", "id")),
    ("loads", ("vehicle_id",), ("vehicle_id", "id")),
    ("loads", ("crew_id",), ("crew_id", "id")),
    ("loads", None, ("status", "id")),
    ("loads", None, ("destination_kind", "id")),
    ("mass_movements", ("depot_id", "day"), ("depot_id", "day", "id")),
    ("mass_movements", None, ("cause_id", "id")),
)


def upgrade() -> None:
    """Make the new ones before the old ones go."""
    for table, before, now in WIDENED:
        op.create_index(_name(table, now), table, ["firm_id", *now])
        if before is not None:
            op.drop_index(_name(table, before), table)


def downgrade() -> None:
    """Have it as it was."""
    for table, before, now in reversed(WIDENED):
        if before is not None:
            op.create_index(_name(table, before), table, ["firm_id", *before])
        op.drop_index(_name(table, now), table)


def _name(table: str, columns: tuple[str, ...]) -> str:
    return "_".join(("ix", table, "firm_id", *columns))

"""Let PostgreSQL show each transaction the rows of its own firm and of no other."""

from alembic import op

revision = "0029"
down_revision = "0028"
branch_labels = None
depends_on = None

SAID = "(SELECT current_setting('clipping.firm_id', true))"
TABLES = (
    "amendments",
    "answers",
    "api_keys",
    "beds",
    "clients",
    "compost_sites",
    "crews",
    "day_closings",
    "day_plans",
    "delivery_notes",
    "depots",
    "folded_plans",
    "hold_bays",
    "hold_entries",
    "jobs",
    "lawns",
    "load_lots",
    "loads",
    "mass_balances",
    "mass_movements",
    "note_numbers",
    "planning_turns",
    "properties",
    "recalls",
    "sessions",
    "ticket_parts",
    "treatments",
    "vehicle_outages",
    "vehicles",
    "working_days",
)


def upgrade() -> None:
    """Wall every table of firms. FORCE, because the service usually owns its tables."""
    if op.get_bind().dialect.name != "postgresql":
        return
    for table in TABLES:
        op.execute(
            f"CREATE POLICY own_firm ON {table} USING ({SAID} = firm_id::text OR {SAID} = 'every')"
        )
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")


def downgrade() -> None:
    """Take the wall away; rows stay as they are."""
    if op.get_bind().dialect.name != "postgresql":
        return
    for table in TABLES:
        op.execute(f"DROP POLICY own_firm ON {table}")
        op.execute(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY")

"""Let tips be unplanned, and let beds have an opening balance."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column, and let a load have no plan."""
    op.add_column("beds", sa.Column("opening_balance", sa.JSON(), nullable=True))
    with op.batch_alter_table("loads", schema=None) as batch_op:
        batch_op.alter_column("plan_id", existing_type=sa.Uuid(), nullable=True)


def downgrade() -> None:
    """Name the newest plan of its day, or else of its depot; without any, a load cannot stay."""
    tables = {
        name: sa.Table(name, sa.MetaData(), autoload_with=op.get_bind(), resolve_fks=False)
        for name in ("loads", "day_plans", "ticket_parts", "delivery_notes", "hold_entries")
    }
    loads, plans = tables.pop("loads"), tables.pop("day_plans")
    planless = loads.c.plan_id.is_(None)
    for same_day in ([plans.c.day == loads.c.working_day], []):
        newest = (
            sa.select(plans.c.id)
            .where(plans.c.firm_id == loads.c.firm_id, plans.c.depot_id == loads.c.depot_id)
            .where(*same_day)
            .order_by(plans.c.day.desc(), plans.c.sequence.desc())
            .limit(1)
            .scalar_subquery()
        )
        op.execute(sa.update(loads).where(planless).values(plan_id=newest))
    for table in tables.values():
        of_planless = sa.exists().where(
            planless, loads.c.firm_id == table.c.firm_id, loads.c.id == table.c.load_id
        )
        op.execute(sa.delete(table).where(of_planless))
    op.execute(sa.delete(loads).where(planless))
    with op.batch_alter_table("loads", schema=None) as batch_op:
        batch_op.alter_column("plan_id", existing_type=sa.Uuid(), nullable=False)
    op.execute("ALTER TABLE beds DROP COLUMN opening_balance")

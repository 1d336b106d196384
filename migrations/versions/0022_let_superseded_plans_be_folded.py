"""Let superseded plans be kept as what they said otherwise than the ones after them."""

import sqlalchemy as sa
from alembic import op

from service.storage.folding import unfolded

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

TABLE = "folded_plans"


def upgrade() -> None:
    """Make the table: what is superseded by now stays whole."""
    op.create_table(
        TABLE,
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("plan_id", sa.Uuid(), nullable=False),
        sa.Column("beside_id", sa.Uuid(), nullable=True),
        sa.Column("said", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("firm_id", "plan_id"),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"]),
        sa.ForeignKeyConstraint(["firm_id", "plan_id"], ["day_plans.firm_id", "day_plans.id"]),
        sa.ForeignKeyConstraint(["firm_id", "beside_id"], ["day_plans.firm_id", "day_plans.id"]),
    )
    op.create_index(None, TABLE, ["firm_id", "beside_id"])


def downgrade() -> None:
    """Unfold them, the newest first: each is told beside one that is whole by then."""
    connection = op.get_bind()
    meta = sa.MetaData()
    plans = sa.Table("day_plans", meta, autoload_with=connection)
    folded = sa.Table(TABLE, meta, autoload_with=connection)
    asked = (
        sa.select(folded)
        .join(plans, (plans.c.firm_id == folded.c.firm_id) & (plans.c.id == folded.c.plan_id))
        .order_by(plans.c.firm_id, plans.c.depot_id, plans.c.day, plans.c.sequence.desc())
    )
    for row in connection.execute(asked).all():
        beside = connection.execute(
            sa.select(plans.c.routing, plans.c.record_versions).where(
                plans.c.firm_id == row.firm_id, plans.c.id == row.beside_id
            )
        ).first()
        whole = unfolded(row.said, None if beside is None else [*beside])
        connection.execute(
            plans.update()
            .where(plans.c.firm_id == row.firm_id, plans.c.id == row.plan_id)
            .values(routing=whole[0], record_versions=whole[1])
        )
    op.drop_table(TABLE)

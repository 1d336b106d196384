"""Let keys be of a crew, a vehicle, a client or a site, end, and be replaced."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

TABLE = "api_keys"
NAMED = ("crew_id", "vehicle_id", "client_id", "compost_site_id")
MOMENTS = ("expires_at", "last_used_at")
REPLACES = "replaces_id"
BEFORE = "'owner', 'dispatcher', 'crew', 'integrator'"


def upgrade() -> None:
    """Keep whose a key is. A crew's key from before is of no crew, and opens nothing."""
    with op.batch_alter_table(TABLE) as batch:
        for name in NAMED:
            batch.add_column(sa.Column(name, sa.Uuid(), nullable=True))
        for name in MOMENTS:
            batch.add_column(sa.Column(name, sa.DateTime(timezone=True), nullable=True))
        batch.add_column(sa.Column(REPLACES, sa.Uuid(), nullable=True))
    _allow("'owner', 'dispatcher', 'crew', 'site', 'client', 'integrator'")


def downgrade() -> None:
    """Forget it: what was of somebody alone must not open everything, and goes."""
    kept = sa.table(TABLE, *(sa.column(name) for name in (*NAMED, *MOMENTS)))
    own = sa.or_(*(kept.c[name].is_not(None) for name in NAMED))
    op.execute(kept.delete().where(sa.or_(own, kept.c.expires_at.is_not(None))))
    _allow(BEFORE)
    with op.batch_alter_table(TABLE) as batch:
        for name in (*NAMED, *MOMENTS, REPLACES):
            batch.drop_column(name)


def _allow(words: str) -> None:
    with op.batch_alter_table(TABLE) as batch:
        batch.drop_constraint(batch.f(f"ck_{TABLE}_role"), type_="check")
        batch.create_check_constraint(batch.f(f"ck_{TABLE}_role"), f"role IN ({words})")

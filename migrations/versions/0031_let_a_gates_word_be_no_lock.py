"""Let what a gate says of a load be a lock of its own, apart from the dispatcher's."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"
branch_labels = None
depends_on = None

LOADS = sa.table("loads", *map(sa.column, ("firm_id", "id", "state", "locked", "at_gate_at")))
AMENDMENTS = sa.table(
    "amendments",
    *map(sa.column, ("firm_id", "record_id", "record_kind", "record_version", "changes")),
)


def upgrade() -> None:
    """Take back the locks that a gate's word set: its hour alone keeps those loads where they are.

    The history of a load says who set its lock. Where it does not, the lock stays.
    """
    connection = op.get_bind()
    mine = (LOADS.c.firm_id == AMENDMENTS.c.firm_id, LOADS.c.id == AMENDMENTS.c.record_id)
    asked = (
        sa.select(LOADS.c.firm_id, LOADS.c.id, sa.cast(AMENDMENTS.c.changes, sa.Text()))
        .select_from(LOADS.join(AMENDMENTS, sa.and_(*mine)))
        .where(
            AMENDMENTS.c.record_kind == "loads",
            LOADS.c.locked == sa.true(),
            LOADS.c.at_gate_at.is_not(None),
        )
        .order_by(AMENDMENTS.c.record_version)
    )
    set_by_gate = {}
    for firm_id, load_id, text in connection.execute(asked).all():
        changes = json.loads(text)
        if "locked" in changes:
            set_by_gate[firm_id, load_id] = "at_gate_at" in changes
    for (firm_id, load_id), is_so in set_by_gate.items():
        if is_so:
            one = (LOADS.c.firm_id == firm_id, LOADS.c.id == load_id)
            connection.execute(sa.update(LOADS).where(*one).values(locked=sa.false()))


def downgrade() -> None:
    """Lock what was seen at a gate, as it was kept before."""
    seen = sa.and_(
        LOADS.c.at_gate_at.is_not(None), LOADS.c.state.in_(("planned", "under_way", "superseded"))
    )
    op.get_bind().execute(sa.update(LOADS).where(seen).values(locked=sa.true()))

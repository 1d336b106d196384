"""Let a site not have said whether it takes what has turned sour: it counted as a yes."""

import sqlalchemy as sa
from alembic import op

revision = "0038"
down_revision = "0037"
branch_labels = None
depends_on = None

SITES = sa.table("compost_sites", sa.column("id", sa.Uuid()), sa.column("takes_sour", sa.Boolean()))
AMENDED = sa.table(
    "amendments",
    sa.column("record_kind", sa.Text()),
    sa.column("record_id", sa.Uuid()),
    sa.column("changes", sa.JSON()),
)


def upgrade() -> None:
    """Take the yes back where no amendment has it: every new record had one that nobody said."""
    with op.batch_alter_table("compost_sites") as batch:
        batch.alter_column("takes_sour", existing_type=sa.Boolean(), nullable=True)
    of_sites = sa.select(AMENDED.c.record_id, AMENDED.c.changes).where(
        AMENDED.c.record_kind == "compost_sites"
    )
    rows = op.get_bind().execute(of_sites)
    said = {record_id for record_id, changes in rows if "takes_sour" in changes}
    unsaid = SITES.c.takes_sour.is_(sa.true()) & SITES.c.id.not_in(said)
    op.execute(SITES.update().where(unsaid).values(takes_sour=None))


def downgrade() -> None:
    """Count what nobody said as a yes again."""
    op.execute(SITES.update().where(SITES.c.takes_sour.is_(None)).values(takes_sour=True))
    with op.batch_alter_table("compost_sites") as batch:
        batch.alter_column("takes_sour", existing_type=sa.Boolean(), nullable=False)

"""Let a recall freeze what is cut later on its lawns, and name its loads beside its trace."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None

TABLE, COLUMNS = "recalls", ("lawns", "load_ids")


def upgrade() -> None:
    """Add them: lawns of a recall begun before are not known, its loads stand in its trace."""
    for column in COLUMNS:
        op.add_column(
            TABLE, sa.Column(column, sa.JSON(), nullable=False, server_default=sa.text("'[]'"))
        )
    connection = op.get_bind()
    # As text, so that whatever reads and writes JSON in a later version has no part in it.
    content = sa.column("content")
    recalls = sa.table(
        TABLE, sa.column("firm_id"), sa.column("id"), content, *map(sa.column, COLUMNS)
    )
    asked = sa.select(recalls.c.firm_id, recalls.c.id, sa.cast(content, sa.Text()).label("traced"))
    for row in connection.execute(asked).all():
        places = json.loads(row.traced).get("places", [])
        ids = sorted({load["load_id"] for place in places for load in place["loads"]})
        written = sa.literal(json.dumps(ids), sa.Text())
        if connection.dialect.name == "postgresql":
            written = sa.cast(written, sa.JSON())
        mine = (recalls.c.firm_id == row.firm_id, recalls.c.id == row.id)
        connection.execute(sa.update(recalls).where(*mine).values(load_ids=written))
    with op.batch_alter_table(TABLE) as batch:
        for column in COLUMNS:
            batch.alter_column(column, server_default=None)


def downgrade() -> None:
    """Take them away: what is cut later on a recalled lawn is frozen no more."""
    with op.batch_alter_table(TABLE) as batch:
        for column in COLUMNS:
            batch.drop_column(column)

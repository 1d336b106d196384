"""Let superseded plans be kept as what they said otherwise than the ones after them."""

import json
import zlib
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

TABLE = "folded_plans"
SAID = ("routing", "record_versions")


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
    # As texts, so that whatever reads and writes JSON in a later version has no part in it.
    said = [sa.Column(name, sa.Text()) for name in SAID]
    plans = sa.Table("day_plans", meta, *said, autoload_with=connection, resolve_fks=False)
    folded = sa.Table(TABLE, meta, autoload_with=connection, resolve_fks=False)
    asked = (
        sa.select(folded)
        .join(plans, (plans.c.firm_id == folded.c.firm_id) & (plans.c.id == folded.c.plan_id))
        .order_by(plans.c.firm_id, plans.c.depot_id, plans.c.day, plans.c.sequence.desc())
    )
    for row in connection.execute(asked).all():
        beside = connection.execute(
            sa.select(*(sa.cast(plans.c[name], sa.Text()) for name in SAID)).where(
                plans.c.firm_id == row.firm_id, plans.c.id == row.beside_id
            )
        ).first()
        whole = _unfolded(
            row.said, None if beside is None else [text and json.loads(text) for text in beside]
        )
        texts = [sa.literal(None if part is None else _written(part), sa.Text()) for part in whole]
        if connection.dialect.name == "postgresql":
            texts = [sa.cast(text, sa.JSON()) for text in texts]
        connection.execute(
            plans.update()
            .where(plans.c.firm_id == row.firm_id, plans.c.id == row.plan_id)
            .values(dict(zip(SAID, texts, strict=True)))
        )
    op.drop_table(TABLE)


# How plans were folded when this was written; it stays as it is, whatever the service does later.


def _unfolded(kept: bytes, new: object) -> list[object]:
    packer = zlib.decompressobj(zdict=_written(new).encode()[:32_768])
    whole: list[object] = _restored(json.loads(packer.decompress(kept) + packer.flush()), new)
    return whole


def _written(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _restored(change: Any, new: Any) -> Any:  # noqa: ANN401 - any JSON there is
    if change == 0 and not isinstance(change, dict):
        return new
    if "is" in change:
        return change["is"]
    if "of" in change:
        return {name: _restored(change["of"].get(name, 0), value) for name, value in new.items()}
    row: list[Any] = []
    for one in change["row"]:
        if isinstance(one, list):
            row += new[one[0] : one[0] + one[1]]
        elif "is" in one:
            row.append(one["is"])
        else:
            row.append(_restored(one["as"], new[one["at"]]))
    return row

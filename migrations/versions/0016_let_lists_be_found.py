"""Let lists be found by day, lot and answer: what is in a load, and what a note was answered."""

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

ANSWERS = (
    "'received_and_checked', 'received_unchecked', 'part_accepted', 'refused', 'nobody_present'"
)
INDEXES = (
    ("delivery_notes", "answer", "id"),
    ("hold_entries", "state", "id"),
    ("jobs", "lot_code"),
    ("jobs", "state", "id"),
    ("loads", "state", "id"),
    ("loads", "working_day"),
)
ROWS = 1000


def upgrade() -> None:
    """Make the table, the column and the indexes, and fill them from what is kept."""
    op.create_table(
        "load_lots",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("job_id", sa.Uuid(), nullable=False),
        sa.Column("load_id", sa.Uuid(), nullable=False),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name="fk_load_lots_firm_id"),
        sa.ForeignKeyConstraint(
            ["firm_id", "job_id"],
            ["jobs.firm_id", "jobs.id"],
            name="fk_load_lots_firm_id_job_id",
        ),
        sa.ForeignKeyConstraint(
            ["firm_id", "load_id"],
            ["loads.firm_id", "loads.id"],
            name="fk_load_lots_firm_id_load_id",
        ),
        sa.PrimaryKeyConstraint("firm_id", "job_id", "load_id", name="pk_load_lots"),
    )
    by_load = ["firm_id", "load_id", "job_id"]
    op.create_index("ix_load_lots_firm_id_load_id_job_id", "load_lots", by_load)
    with op.batch_alter_table("delivery_notes", schema=None) as batch_op:
        batch_op.add_column(sa.Column("answer", sa.Text(), nullable=True))
        batch_op.create_check_constraint(
            batch_op.f("ck_delivery_notes_answer"), f"answer IN ({ANSWERS})"
        )
    op.drop_index("ix_loads_firm_id_state", table_name="loads")
    for table, *fields in INDEXES:
        columns = ["firm_id", *fields]
        op.create_index(f"ix_{table}_{'_'.join(columns)}", table, columns)
    _fill()


def _fill() -> None:
    """Write down which lots are in which load, and the word of each answer."""
    connection = op.get_bind()
    tables = {
        name: sa.Table(name, sa.MetaData(), autoload_with=connection, resolve_fks=False)
        for name in ("loads", "load_lots", "delivery_notes", "jobs")
    }
    loads, notes = tables["loads"].c, tables["delivery_notes"]
    asked = sa.select(loads.firm_id, loads.id, loads.parts)
    for some in connection.execute(asked).partitions(ROWS):
        rows = [
            {"firm_id": firm_id, "job_id": job_id, "load_id": load_id}
            for firm_id, load_id, parts in some
            for job_id in sorted({_uuid(part["job_id"], load_id) for part in _read(parts)}, key=str)
        ]
        if rows:
            connection.execute(tables["load_lots"].insert(), rows)
    answered = sa.select(notes.c.firm_id, notes.c.id, notes.c.acknowledgement).where(
        notes.c.acknowledgement.is_not(None)
    )
    for firm_id, note_id, said in connection.execute(answered).all():
        receipt = (_read(said) or {}).get("receipt")
        connection.execute(
            notes.update()
            .where(notes.c.firm_id == firm_id, notes.c.id == note_id)
            .values(answer=receipt)
        )


def _read(value: Any) -> Any:  # noqa: ANN401 - any value of JSON
    return json.loads(value) if isinstance(value, str) else value


def _uuid(text: str, like: Any) -> Any:  # noqa: ANN401 - an id as the driver has it
    """Return an id as this database's driver takes it: as the other ids come."""
    return type(like)(text) if not isinstance(like, str) else text.replace("-", "")


def downgrade() -> None:
    """Take all of it away: it says nothing that does not stand elsewhere."""
    for table, *fields in INDEXES:
        op.drop_index(f"ix_{table}_{'_'.join(['firm_id', *fields])}", table_name=table)
    op.create_index("ix_loads_firm_id_state", "loads", ["firm_id", "state"])
    with op.batch_alter_table("delivery_notes", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_delivery_notes_answer"), type_="check")
        batch_op.drop_column("answer")
    op.drop_table("load_lots")

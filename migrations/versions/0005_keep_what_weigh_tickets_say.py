"""Keep what weigh tickets say in small rows, so that an estimate reads no season of whole loads."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; it fills itself when the tickets are read next."""
    op.create_table(
        "ticket_parts",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("load_id", sa.Uuid(), nullable=False),
        sa.Column("job_id", sa.Uuid(), nullable=False),
        sa.Column("load_version", sa.BigInteger(), nullable=False),
        sa.Column("job_version", sa.BigInteger(), nullable=False),
        sa.Column("grass_group", sa.Text(), nullable=False),
        sa.Column("lawn", sa.Text(), nullable=False),
        sa.Column("weighed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("estimated_kg", sa.Double(), nullable=False),
        sa.Column("weighed_kg", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "estimated_kg >= 0 AND estimated_kg < 1e300", name=op.f("ck_ticket_parts_estimated_kg")
        ),
        sa.CheckConstraint(
            "weighed_kg >= 0 AND weighed_kg < 1e300", name=op.f("ck_ticket_parts_weighed_kg")
        ),
        sa.ForeignKeyConstraint(
            ["firm_id", "job_id"],
            ["jobs.firm_id", "jobs.id"],
            name=op.f("fk_ticket_parts_firm_id_job_id"),
        ),
        sa.ForeignKeyConstraint(
            ["firm_id", "load_id"],
            ["loads.firm_id", "loads.id"],
            name=op.f("fk_ticket_parts_firm_id_load_id"),
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_ticket_parts_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "load_id", "job_id", name=op.f("pk_ticket_parts")),
    )
    with op.batch_alter_table("ticket_parts", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_ticket_parts_firm_id_job_id"), ["firm_id", "job_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_ticket_parts_firm_id_lawn_weighed_at"),
            ["firm_id", "lawn", "weighed_at"],
            unique=False,
        )

    with op.batch_alter_table("loads", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_loads_firm_id_ticket_review_arrive_at"),
            ["firm_id", "ticket_review", "arrive_at"],
            unique=False,
        )


def downgrade() -> None:
    """Take it away: what it said follows from loads and jobs."""
    with op.batch_alter_table("loads", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_loads_firm_id_ticket_review_arrive_at"))

    with op.batch_alter_table("ticket_parts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_ticket_parts_firm_id_lawn_weighed_at"))
        batch_op.drop_index(batch_op.f("ix_ticket_parts_firm_id_job_id"))

    op.drop_table("ticket_parts")

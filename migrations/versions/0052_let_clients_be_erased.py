"""Let clients be erased, and keep who erased whom without the person."""

import sqlalchemy as sa
from alembic import op

revision = "0052"
down_revision = "0051"
branch_labels = None
depends_on = None

SAID = "(SELECT current_setting('clipping.firm_id', true))"


def upgrade() -> None:
    """Make the table, walled as the others are; nobody was erased before."""
    op.create_table(
        "erasures",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("erased_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("key_id", sa.Uuid(), nullable=True),
        sa.Column("digests", sa.JSON(), nullable=False),
        sa.Column("client_id", sa.Uuid(), nullable=False),
        sa.CheckConstraint(
            "asked_by IN ('client', 'representative', 'authority', 'firm')",
            name=op.f("ck_erasures_asked_by"),
        ),
        sa.CheckConstraint("version >= 1", name=op.f("ck_erasures_version")),
        sa.ForeignKeyConstraint(
            ["firm_id", "client_id"],
            ["clients.firm_id", "clients.id"],
            name=op.f("fk_erasures_firm_id_client_id"),
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_erasures_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "id", name=op.f("pk_erasures")),
        sa.UniqueConstraint("firm_id", "client_id", name=op.f("uq_erasures_firm_id_client_id")),
    )
    op.create_index("ix_erasures_firm_id_erased_at", "erasures", ["firm_id", "erased_at"])
    for table in ("clients", "properties"):
        with op.batch_alter_table(table) as batch_op:
            batch_op.add_column(sa.Column("erased_at", sa.DateTime(timezone=True), nullable=True))
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE POLICY own_firm ON erasures USING ({SAID} = firm_id::text OR {SAID} = 'every')"
        )
        op.execute("ALTER TABLE erasures ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE erasures FORCE ROW LEVEL SECURITY")


def downgrade() -> None:
    """Forget who was erased; the records stay without the person."""
    for table in ("properties", "clients"):
        with op.batch_alter_table(table) as batch_op:
            batch_op.drop_column("erased_at")
    op.drop_table("erasures")

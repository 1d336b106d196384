"""Let a release say what became of held clippings: the place, the vehicle, and the load of it."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; of releases that are kept only the words are known."""
    with op.batch_alter_table("hold_entries", schema=None) as batch_op:
        batch_op.add_column(sa.Column("released_as", sa.Text(), nullable=True))
        batch_op.add_column(sa.Column("released_to_kind", sa.Text(), nullable=True))
        batch_op.add_column(sa.Column("released_to_id", sa.Uuid(), nullable=True))
        batch_op.add_column(sa.Column("released_with_id", sa.Uuid(), nullable=True))
        batch_op.add_column(sa.Column("released_load_id", sa.Uuid(), nullable=True))
        batch_op.create_index(
            batch_op.f("ix_hold_entries_firm_id_released_load_id"),
            ["firm_id", "released_load_id"],
            unique=False,
        )
        batch_op.create_index(
            batch_op.f("ix_hold_entries_firm_id_released_with_id"),
            ["firm_id", "released_with_id"],
            unique=False,
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_hold_entries_firm_id_released_with_id"),
            "vehicles",
            ["firm_id", "released_with_id"],
            ["firm_id", "id"],
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_hold_entries_firm_id_released_load_id"),
            "loads",
            ["firm_id", "released_load_id"],
            ["firm_id", "id"],
        )
        batch_op.create_check_constraint(
            batch_op.f("ck_hold_entries_released_as"),
            "released_as IN ('place', 'liquid_feed', 'elsewhere')",
        )
        batch_op.create_check_constraint(
            batch_op.f("ck_hold_entries_released_to_kind"),
            "released_to_kind IN ('bed', 'compost_site', 'hold_bay', 'lawn')",
        )


def downgrade() -> None:
    """Take them away; the words stay."""
    with op.batch_alter_table("hold_entries", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_hold_entries_released_to_kind"), type_="check")
        batch_op.drop_constraint(batch_op.f("ck_hold_entries_released_as"), type_="check")
        batch_op.drop_constraint(
            batch_op.f("fk_hold_entries_firm_id_released_load_id"), type_="foreignkey"
        )
        batch_op.drop_constraint(
            batch_op.f("fk_hold_entries_firm_id_released_with_id"), type_="foreignkey"
        )
        batch_op.drop_index(batch_op.f("ix_hold_entries_firm_id_released_with_id"))
        batch_op.drop_index(batch_op.f("ix_hold_entries_firm_id_released_load_id"))
        batch_op.drop_column("released_load_id")
        batch_op.drop_column("released_with_id")
        batch_op.drop_column("released_to_id")
        batch_op.drop_column("released_to_kind")
        batch_op.drop_column("released_as")

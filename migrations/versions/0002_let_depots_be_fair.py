"""Let a depot spread its loads over the beds: a limit and a price, both of none at first."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

LIMIT = "fairness_limit_kg_per_m2"
PRICE = "fairness_price_cents_per_t_per_kg_per_m2"


def upgrade() -> None:
    """Add the two columns."""
    _add(LIMIT, sa.Double(), f"{LIMIT} > 0 AND {LIMIT} < 1e300")
    _add(PRICE, sa.BigInteger(), f"{PRICE} >= 0")


def downgrade() -> None:
    """Take them away, and with them what was set."""
    for name in (PRICE, LIMIT):
        op.execute(f"ALTER TABLE depots DROP COLUMN {name}")


def _add(name: str, kind: sa.types.TypeEngine, condition: str) -> None:
    """Add a column that may be empty, with its condition.

    In one statement, which both databases know: SQLite has no other way to add a condition than
    to copy the table, and the copy would lose the conditions it has.
    """
    spelled = kind.compile(dialect=op.get_bind().dialect)
    op.execute(
        f"ALTER TABLE depots ADD COLUMN {name} {spelled} "
        f"CONSTRAINT ck_depots_{name} CHECK ({condition})"
    )

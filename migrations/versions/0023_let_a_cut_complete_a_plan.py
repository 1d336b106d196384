"""Let a report complete a planned job, and let a job be a possible duplicate."""

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None

BEFORE = "'planned', 'mown', 'cancelled'"
STATE = "ck_jobs_state"


def upgrade() -> None:
    """Add the columns and the word."""
    with op.batch_alter_table("jobs") as batch:
        batch.add_column(sa.Column("reported_as_id", sa.Uuid(), nullable=True))
        batch.add_column(sa.Column("duplicate_of_id", sa.Uuid(), nullable=True))
        batch.create_foreign_key(
            batch.f("fk_jobs_firm_id_duplicate_of_id"),
            "jobs",
            ["firm_id", "duplicate_of_id"],
            ["firm_id", "id"],
        )
        batch.drop_constraint(batch.f(STATE), type_="check")
        batch.create_check_constraint(batch.f(STATE), f"state IN ({BEFORE}, 'possible_duplicate')")
    for column in ("duplicate_of_id", "reported_as_id"):
        op.create_index(f"ix_jobs_firm_id_{column}", "jobs", ["firm_id", column])


def downgrade() -> None:
    """Take them away: what waited for a decision is cancelled, as it counted for nothing."""
    jobs = sa.table("jobs", sa.column("state", sa.Text()))
    waiting = jobs.c.state == "possible_duplicate"
    op.execute(jobs.update().where(waiting).values(state="cancelled"))
    for column in ("duplicate_of_id", "reported_as_id"):
        op.drop_index(f"ix_jobs_firm_id_{column}", "jobs")
    with op.batch_alter_table("jobs") as batch:
        batch.drop_constraint(batch.f(STATE), type_="check")
        batch.create_check_constraint(batch.f(STATE), f"state IN ({BEFORE})")
        batch.drop_constraint(batch.f("fk_jobs_firm_id_duplicate_of_id"), type_="foreignkey")
        batch.drop_column("duplicate_of_id")
        batch.drop_column("reported_as_id")

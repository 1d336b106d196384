"""Run the migrations on the connection that was handed in, or on `alembic -x url=...`.

`alembic revision --autogenerate` needs no database: it compares the tables with what the migrations
before it make of an empty one.
"""

from __future__ import annotations

from alembic import command, context
from alembic.autogenerate.api import AutogenContext
from alembic.ddl.impl import ComparisonResult
from alembic.ddl.sqlite import SQLiteImpl
from alembic.operations import MigrationScript, Operations
from alembic.operations.batch import BatchOperationsImpl
from alembic.runtime.migration import MigrationContext
from sqlalchemy import JSON, CheckConstraint, Connection

from service.storage.columns import UtcDateTime
from service.storage.engine import make_engine, seeing
from service.storage.tables import METADATA
from service.usecases.base.whose import EveryFirm


class ComparingConditions(SQLiteImpl):
    """SQLite keeps a condition as it was written, so it can be told from another.

    PostgreSQL rewrites it; there only its name is compared.
    """

    __dialect__ = "sqlite"

    def requires_recreate_in_batch(self, batch_op: BatchOperationsImpl) -> bool:
        """Tell whether a table is copied; read it alone then, not also all that it names."""
        batch_op.reflect_kwargs.setdefault("resolve_fks", False)
        return super().requires_recreate_in_batch(batch_op)

    def compare_check_constraint(
        self, metadata_constraint: CheckConstraint, reflected_constraint: CheckConstraint
    ) -> ComparisonResult:
        """Compare the words."""
        drawn, kept = str(metadata_constraint.sqltext), str(reflected_constraint.sqltext)
        if drawn == kept:
            return ComparisonResult.Equal()
        return ComparisonResult.Different(f"{kept} is to be {drawn}")


def as_written_here(kind: str, item: object, _context: AutogenContext) -> str | bool:
    """Write types of our own as what they are made of: a migration outlives the code beside it."""
    if kind == "type" and isinstance(item, UtcDateTime):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(item, JSON):
        return "sa.JSON()"
    return False


def numbered(
    _context: MigrationContext, _revision: object, directives: list[MigrationScript]
) -> None:
    """Give a new migration the number after the newest, unless it was given one."""
    if context.config.cmd_opts is not None and context.config.cmd_opts.rev_id is None:
        directives[0].rev_id = f"{int(context.script.get_current_head() or 0) + 1:04}"


def run(connection: Connection) -> None:
    """Run the migrations in one transaction."""
    context.configure(
        connection=connection,
        target_metadata=METADATA,
        compare_type=True,
        compare_server_default=True,
        autogenerate_plugins=["alembic.autogenerate.*", "alembic.ext.checkconstraint_byname"],
        render_item=as_written_here,
        process_revision_directives=numbered,
        # SQLite cannot alter a column: its table is copied instead.
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


def bring_up_to_date(connection: Connection) -> None:
    """Run all migrations on an empty database, inside a command that is at something else."""
    script = context.script
    steps = MigrationContext.configure(
        connection,
        opts={
            "fn": lambda revision, _: script._upgrade_revs("head", revision),  # noqa: SLF001 # Alembic has no other
            "target_metadata": METADATA,
        },
    )
    with steps.begin_transaction(), Operations.context(steps):
        steps.run_migrations()


handed_in = context.config.attributes.get("connection")
url = context.get_x_argument(as_dictionary=True).get("url")
options = context.config.cmd_opts
if handed_in is not None:
    run(handed_in)
elif url is not None:
    with seeing(make_engine(url), EveryFirm.MIGRATIONS).connect() as own:
        run(own)
        own.commit()
elif options is not None and options.cmd[0] is command.revision:
    with make_engine("sqlite://").connect() as own:
        bring_up_to_date(own)
        run(own)
else:
    raise SystemExit("Say which database: alembic -x url=sqlite:///records.sqlite ...")

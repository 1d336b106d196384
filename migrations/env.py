"""Run the migrations on the connection that was handed in, or on `alembic -x url=...`."""

from alembic import context
from sqlalchemy import Connection

from service.storage.engine import make_engine
from service.storage.tables import METADATA


def run(connection: Connection) -> None:
    """Run the migrations in one transaction."""
    context.configure(
        connection=connection,
        target_metadata=METADATA,
        compare_type=True,
        compare_server_default=True,
        # SQLite cannot alter a column: its table is copied instead.
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


handed_in = context.config.attributes.get("connection")
if handed_in is not None:
    run(handed_in)
else:
    url = context.get_x_argument(as_dictionary=True).get("url")
    if url is None:
        raise SystemExit("Say which database: alembic -x url=sqlite:///records.sqlite ...")
    with make_engine(url).connect() as own:
        run(own)
        own.commit()

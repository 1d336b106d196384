"""Whether a database can be worked in: its shape, a write, and the room beside it."""

from __future__ import annotations

import re
import shutil
from functools import cache
from pathlib import Path
from typing import Final

from sqlalchemy import Engine, text

from service.storage.migrations import migrations_folder

# A season of a firm takes less; with less free nobody has the time to look for more. Common
# practice, no source.
LEAST_ROOM_BYTES: Final = 256 * 1024 * 1024


class Probe:
    """Asks a database what a supervisor asks."""

    def __init__(self, engine: Engine) -> None:
        """Take the engine; nothing is asked yet."""
        self._engine = engine

    def __call__(self) -> list[str]:
        """Return what stands against working with it, in sentences; what fails rises."""
        found = []
        with self._engine.connect() as connection:
            kept = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            if kept != newest_revision():
                found.append("The database has another shape than this version; run migrate.")
            # It changes nothing and is taken back, but takes what a write takes.
            connection.execute(text("UPDATE alembic_version SET version_num = version_num"))
            connection.rollback()
        path = self._engine.url.database
        if self._engine.dialect.name == "sqlite" and path:
            free = shutil.disk_usage(Path(path).resolve().parent).free
            if free < LEAST_ROOM_BYTES:
                found.append(f"The disk of the database has {free // 1024**2} MB left.")
        return found


@cache
def newest_revision() -> str:
    """Return the revision that this version's migrations lead to."""
    told = re.compile(r'^revision = "(\w+)"$', re.MULTILINE)
    files = (migrations_folder() / "versions").glob("*.py")
    return max(found[1] for file in files if (found := told.search(file.read_text())))

"""Whether a database can be worked in: its shape, a write, and the room beside it."""

from __future__ import annotations

import re
import shutil
from functools import cache
from pathlib import Path
from threading import Lock
from time import monotonic
from typing import Final

from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError

from service.core.errors import RecordsBusy
from service.storage.faults import answer_to_fault
from service.storage.migrations import migrations_folder

# A season of a firm takes less; with less free nobody has the time to look for more. Common
# practice, no source.
LEAST_ROOM_BYTES: Final = 256 * 1024 * 1024
# How long an answer holds [s]; a supervisor asks every ten or so. Common practice, no source.
HOLDS_S: Final = 3.0


class Probe:
    """Asks a database what a supervisor asks; whoever asks again soon is told the same."""

    def __init__(self, engine: Engine) -> None:
        """Take the engine; nothing is asked yet."""
        self._engine = engine
        self._asking = Lock()
        self._told: tuple[list[str], float] | None = None

    def __call__(self) -> list[str]:
        """Return what stands against working with it, in sentences; what fails rises."""
        # Nobody needs a key to ask, and each answer takes what a writer takes: only one asks.
        told = self._fresh()
        if told is not None:
            return told
        if not self._asking.acquire(timeout=HOLDS_S):
            return [f"The database has not answered for {HOLDS_S:g} seconds."]
        try:
            told = self._fresh()
            if told is None:
                self._told = None  # asking may fail: nothing older is told after it
                told = self._found()
                self._told = (told, monotonic())
            return told
        finally:
            self._asking.release()

    def _fresh(self) -> list[str] | None:
        """Return what was found a moment ago, if it was."""
        kept = self._told
        return kept[0] if kept is not None and monotonic() < kept[1] + HOLDS_S else None

    def _found(self) -> list[str]:
        found = []
        with self._engine.connect() as connection:
            try:
                kept = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
                if kept != newest_revision():
                    found.append("The database has another shape than this version; run migrate.")
                # It changes nothing and is taken back, but takes what a write takes.
                connection.execute(text("UPDATE alembic_version SET version_num = version_num"))
            except DBAPIError as error:
                if not isinstance(answer_to_fault(error), RecordsBusy):
                    raise
                found.append("The database answers, but others have been writing for too long.")
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

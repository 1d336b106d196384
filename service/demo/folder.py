"""Where the demo keeps its records: a folder of its own, which it may empty again."""

from __future__ import annotations

from pathlib import Path
from typing import Final

DEFAULT: Final = Path(".demo")
MARK: Final = ".gitignore"
MARK_TEXT: Final = "# Records of the demo; the next one begins afresh.\n*\n"
RECORDS: Final = "records.sqlite"


class FolderNotOurs(Exception):
    """The folder holds what the demo did not make."""


def open_folder(folder: Path) -> Path:
    """Make the folder, if there is none, and return the path of its records.

    Raises
    ------
    FolderNotOurs
        If it holds other things: nothing is deleted that the demo did not make.
    OSError
        If it cannot be made.
    """
    mark = folder / MARK
    if folder.exists() and not _is_ours(mark) and any(folder.iterdir()):
        raise FolderNotOurs(
            f"{folder} holds other things; name an empty folder, or a new one, with --folder."
        )
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    mark.write_text(MARK_TEXT)
    return folder / RECORDS


def clear_records(records: Path) -> None:
    """Delete the records of an earlier demo."""
    for ending in ("", "-wal", "-shm", "-journal"):
        records.with_name(records.name + ending).unlink(missing_ok=True)


def _is_ours(mark: Path) -> bool:
    return mark.is_file() and mark.read_text(errors="replace") == MARK_TEXT

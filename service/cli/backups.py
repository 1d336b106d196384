"""The commands that copy a database while it is served, and put a copy back."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Mapping

from service.cli.checking import check_mass_book
from service.cli.faults import CommandRefused
from service.cli.records import database_url, told_plainly
from service.storage.backups import BackupRefused, back_up, restore


def back_up_records(called: Namespace, environment: Mapping[str, str]) -> None:
    """Copy the database into a file."""
    with told_plainly():
        try:
            back_up(database_url(called, environment), called.to)
        except (BackupRefused, OSError) as refused:
            raise CommandRefused(str(refused)) from refused
    print(f"{called.to} holds all that was kept. It names people: keep it as you keep the records.")


def restore_records(called: Namespace, environment: Mapping[str, str]) -> bool:
    """Put a copy back, and check its mass book; return whether nothing differs.

    The book of another version's copy can be read once it is migrated.
    """
    with told_plainly():
        try:
            is_readable = restore(
                database_url(called, environment), called.source, replace=called.replace
            )
        except (BackupRefused, OSError) as refused:
            raise CommandRefused(str(refused)) from refused
    if not is_readable:
        print(
            "Restored, and of another version: run `clipping-dispatch migrate`, then "
            "`clipping-dispatch check`."
        )
        return True
    print("Restored.")
    return check_mass_book(called, environment)

"""A sheet: a book as it is filled in, by a form or from a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.pages.setup.columns import Column
from service.pages.setup.filing import Filing, Values

FileRow = Callable[[Filing, int, Values], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A book as it is filled in.

    Attributes
    ----------
    name
        In addresses and names of files.
    many, one
        What it is called.
    repository
        The book whose records are listed.
    file
        Turns a row into records.
    about
        What people must know before they fill it in.
    known_by
        The columns by which people know a record in a list; the others stand below it.
    """

    name: str
    many: str
    one: str
    repository: str
    columns: tuple[Column, ...]
    file: FileRow
    about: str
    known_by: tuple[str, ...]

    @property
    def in_list(self) -> tuple[Column, ...]:
        """The columns in the order of a list: those a record is known by come first."""
        first = [column for name in self.known_by for column in self.columns if column.name == name]
        return (*first, *(column for column in self.columns if column not in first))

    def column(self, name: str) -> Column | None:
        """Return a column by its name."""
        return next((column for column in self.columns if column.name == name), None)


def where(*, example: str) -> Column:
    """Return the column of where something is, which a map below the form fills in, too."""
    return Column(
        name="point",
        label="Where",
        kind="point",
        required=True,
        hint="Latitude, then longitude, as a map shows them; or mark it below.",
        example=example,
    )

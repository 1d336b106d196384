"""Every table. Importing this package makes `METADATA` complete."""

from service.storage.columns import Row
from service.storage.tables import access, mass_book, papers, places, work

METADATA = Row.metadata

__all__ = ["METADATA", "access", "mass_book", "papers", "places", "row_of", "work"]


def row_of(table: str) -> type[Row]:
    """Return the typed row of a table.

    Raises
    ------
    LookupError
        If there is no such table.
    """
    for mapper in Row.registry.mappers:
        if mapper.class_.__tablename__ == table:
            row: type[Row] = mapper.class_
            return row
    raise LookupError(f"there is no table {table}")

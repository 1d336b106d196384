"""Every table. Importing this package makes `METADATA` complete."""

from service.storage.columns import Row
from service.storage.tables import access, papers, places, work

METADATA = Row.metadata

__all__ = ["METADATA", "access", "papers", "places", "work"]

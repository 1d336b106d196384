"""What every repository over tables has."""

from __future__ import annotations

from sqlalchemy import Connection


class Connected:
    """Works in the transaction of a connection."""

    def __init__(self, connection: Connection) -> None:
        """Take the connection."""
        self._connection = connection

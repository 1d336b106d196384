"""The planner's process of this machine, asked over a socket in a folder that is ours alone."""

from __future__ import annotations

import socket
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Final

from service.planning.arrays.compiled import PlannerAwaited

# Longer than anything is searched for. Common practice, no source.
ANSWERS_WITHIN_S: Final = 60
# Of one connection only (RFC 9110, 7.6.1), or said anew by whoever writes the answer.
NOT_HANDED_ON: Final = frozenset(
    {"connection", "keep-alive", "transfer-encoding", "upgrade", "content-length", "date", "server"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannerAnswer:
    """What the planner's process answered."""

    status: int
    headers: list[tuple[str, str]]
    body: bytes


class PlannerProcess:
    """Has whole requests answered by the process that plans."""

    def __init__(self, path: Path) -> None:
        """Take the path of its socket."""
        self._path = path

    def __call__(
        self, method: str, target: str, headers: Mapping[str, str], body: bytes
    ) -> PlannerAnswer:
        """Return its answer to a request.

        Raises
        ------
        PlannerAwaited
            If it is not there: still compiling, or being started again.
        """
        sent = {name: value for name, value in headers.items() if _is_handed_on(name)}
        try:
            with closing(_SocketConnection(self._path)) as connection:
                connection.request(method, target, body=body, headers=sent)
                answer = connection.getresponse()
                return PlannerAnswer(
                    status=answer.status,
                    headers=[one for one in answer.getheaders() if _is_handed_on(one[0])],
                    body=answer.read(),
                )
        except (OSError, HTTPException) as error:
            raise PlannerAwaited from error


class _SocketConnection(HTTPConnection):
    def __init__(self, path: Path) -> None:
        super().__init__("localhost", timeout=ANSWERS_WITHIN_S)
        self._path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.sock.settimeout(self.timeout)
        self.sock.connect(str(self._path))


def _is_handed_on(name: str) -> bool:
    return name.lower() not in NOT_HANDED_ON

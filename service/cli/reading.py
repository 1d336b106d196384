"""Read requests whole before a thread is given to them: a slow caller costs a socket, no thread.

Gunicorn keeps the processes, as before: it starts them, replaces them, ends them. In each, waitress
reads; what it has read whole is answered by a few threads. Waitress itself waits as long as a
caller sends a byte now and then, and takes nobody else in when all its sockets are taken. Here a
request has a time to arrive in, and who has kept a socket waiting for longest makes room for who
comes.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from socket import SHUT_RDWR, socket
from typing import Any, Final
from uuid import uuid4

from gunicorn.workers.base import Worker  # type: ignore[import-untyped] # ships no types
from waitress import wasyncore  # type: ignore[import-untyped] # ships no types
from waitress.adjustments import Adjustments  # type: ignore[import-untyped] # see above
from waitress.channel import HTTPChannel  # type: ignore[import-untyped] # see above
from waitress.server import TcpWSGIServer  # type: ignore[import-untyped] # see above
from waitress.task import ErrorTask, ThreadedTaskDispatcher  # type: ignore[import-untyped] # see above

# Common practice, no source, all four. A telephone at the edge of its network sends headers in a
# second or two, and two megabytes in half a minute.
HEADERS_WITHIN_S: Final = 10.0
BODY_WITHIN_S: Final = 60.0
IDLE_FOR_S: Final = 75.0  # longer than proxies keep a connection for the next request
TAKES_WITHIN_S: Final = 60.0  # how long a caller may take nothing of its answer
# Sockets a process; below the 1,024 files that a process may have where nobody raised it.
MOST_SOCKETS: Final = 500
LONGEST_HEADERS_BYTES: Final = 32 * 1024
READ_ANYWAY_BYTES: Final = 1024 * 1024
LOOKS_EVERY_S: Final = 1

_CODES: Final = {
    413: ("body_too_large", "The body is longer than the service reads."),
    431: ("headers_too_large", f"Headers may have {LONGEST_HEADERS_BYTES} bytes in all."),
    501: ("bad_request", "This transfer encoding is not read here; send chunked, or a length."),
}


class Unreadable(ErrorTask):  # type: ignore[misc] # see the import
    """Answers what could not be read as HTTP, in the shape of every failure."""

    def execute(self) -> None:
        """Write problem details, and end the connection."""
        error = self.request.error
        code, detail = _CODES.get(error.code, ("bad_request", "The request cannot be read."))
        problem = {
            "type": f"/problems/{code.replace('_', '-')}",
            "title": error.reason,
            "status": error.code,
            "detail": detail,
            "instance": self.request.path or "/",
            "request_id": str(uuid4()),
            "code": code,
        }
        body = json.dumps(problem).encode()
        self.status = f"{error.code} {error.reason}"
        self.response_headers.append(("Content-Type", "application/problem+json"))
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class TimedChannel(HTTPChannel):  # type: ignore[misc] # see the import
    """A connection that knows how long it has kept a socket for nothing."""

    error_task_class = Unreadable
    _timed: Any = None  # the request that is being read, and since when
    _since_s: float = 0.0
    _asked: bool = False  # whether a request has come whole

    def received(self, data: bytes) -> bool:
        """Take what came, and count anew with each request."""
        took: bool = super().received(data)
        if self.request is not self._timed:
            self._timed, self._since_s = self.request, time.time()
        # A short request comes whole at once: no part of it was ever waited for.
        self._asked = self._asked or self.request is None
        return took

    def show_out(self) -> socket | None:
        """End the connection and return its socket, which is still to be closed.

        The number of a closed socket is given to the next caller at once, and what the poll has
        still to tell of the old one would end the new one's connection.
        """
        held: socket | None = self.socket  # type: ignore[has-type] # see the import
        if held is None:
            return None
        with suppress(OSError):  # the caller has gone
            held.shutdown(SHUT_RDWR)
        self.socket = None
        self.handle_close()
        return held

    @property
    def waiting(self) -> tuple[float, float] | None:
        """Since when the caller keeps the socket waiting, and how long it may; None if it does not.

        Both in seconds.
        """
        if self.requests:
            return None
        if self.total_outbufs_len:
            return self.last_activity, TAKES_WITHIN_S
        if self.request is not None:
            in_body = self.request.headers_finished
            return self._since_s, BODY_WITHIN_S if in_body else HEADERS_WITHIN_S
        if self._asked:
            return self.last_activity, IDLE_FOR_S
        return self.creation_time, HEADERS_WITHIN_S


class RoomyServer(TcpWSGIServer):  # type: ignore[misc] # see the import
    """Takes everybody in: when sockets run out, who has waited longest for nothing goes."""

    channel_class = TimedChannel
    most_sockets: int = MOST_SOCKETS

    def __init__(self, *args: object, **more: object) -> None:
        """Take what waitress takes."""
        self._shown_out: list[socket] = []
        super().__init__(*args, **more)

    def readable(self) -> bool:
        """Return whether callers are taken in; close whom the last poll still knew."""
        while self._shown_out:
            self._shown_out.pop().close()
        taken: bool = super().readable()
        return taken

    def close(self) -> None:
        """Close the socket that listens, and those that wait for it."""
        while self._shown_out:
            self._shown_out.pop().close()
        super().close()

    def handle_accept(self) -> None:
        """Take a caller in, and make room first where there is none."""
        if len(self.active_channels) >= self.most_sockets:
            waiting = {
                channel: told[0]
                for channel in self.active_channels.values()
                if (told := channel.waiting) is not None
            }
            if waiting:
                self._show_out(min(waiting, key=lambda channel: waiting[channel]))
        super().handle_accept()

    def maintenance(self, now: float) -> None:
        """End connections whose time is up."""
        for channel in list(self.active_channels.values()):
            told = channel.waiting
            if told is not None and now - told[0] > told[1]:
                self._show_out(channel)

    def _show_out(self, channel: TimedChannel) -> None:
        """End a connection now; its socket's number is free after the next poll."""
        if (held := channel.show_out()) is not None:
            self._shown_out.append(held)


class ReadingWorker(Worker):  # type: ignore[misc] # see the import
    """A process of gunicorn's that reads with waitress."""

    def run(self) -> None:
        """Serve until told to end; then take nobody in, and answer who was read."""
        waiters: dict[int, Any] = {}
        threads = ThreadedTaskDispatcher()
        threads.set_thread_count(self.cfg.threads)
        servers = [
            serving(
                self.wsgi,
                listener.sock,
                threads=threads,
                waiters=waiters,
                longest_body_bytes=self.wsgi.config["MAX_CONTENT_LENGTH"],
            )
            for listener in self.sockets
        ]
        while self.alive and self.ppid == os.getppid():
            self.notify()
            wasyncore.poll2(LOOKS_EVERY_S, waiters)
        until_s = time.monotonic() + self.cfg.graceful_timeout
        for server in servers:
            server.del_channel(waiters)
        while time.monotonic() < until_s and _is_busy(servers):
            self.notify()
            wasyncore.poll2(0.1, waiters)
        threads.shutdown(timeout=1)


def serving(
    application: Callable[..., Iterable[bytes]],
    listener: socket,
    *,
    threads: ThreadedTaskDispatcher,
    waiters: dict[int, Any],
    longest_body_bytes: int,
    most_sockets: int = MOST_SOCKETS,
) -> RoomyServer:
    """Return a server that takes callers in from a socket that listens."""
    adjustments = Adjustments(
        connection_limit=10 * most_sockets,  # never reached: there is room before
        cleanup_interval=LOOKS_EVERY_S,
        max_request_header_size=LONGEST_HEADERS_BYTES,
        # What is a little too long is read, so that its caller can read why it is refused.
        max_request_body_size=longest_body_bytes + READ_ANYWAY_BYTES,
        ident=None,
        clear_untrusted_proxy_headers=False,  # nothing here believes them
        expose_tracebacks=False,
        listen="127.0.0.1:0",  # never listened at: the socket is there
    )
    server = RoomyServer(
        application,
        waiters,
        True,  # noqa: FBT003 - waitress names it `_start`
        listener,
        dispatcher=threads,
        adj=adjustments,
        bind_socket=False,
        sockinfo=(listener.family, listener.type, listener.proto, listener.getsockname()),
    )
    server.most_sockets = most_sockets
    return server


def _is_busy(servers: Iterable[RoomyServer]) -> bool:
    """Return whether somebody who was read is not answered yet."""
    return any(
        channel.requests or channel.total_outbufs_len
        for server in servers
        for channel in server.active_channels.values()
    )

"""Serve the demo from this very process, so that its clock and its records are one story.

The planner's machine code comes behind: the demo goes over to it when it is there.
"""

from __future__ import annotations

import errno
import os
import socket
import subprocess
import threading
import time
from collections.abc import Callable
from typing import Final

from flask import Flask
from werkzeug.serving import BaseWSGIServer, WSGIRequestHandler, make_server

from service.planning.arrays.compiled import PLAINLY, take_over

HOST: Final = "127.0.0.1"
PORTS_TRIED: Final = 20
QUEUED: Final = 128
LOOK_AFTER_S: Final = 0.5


class PortTaken(Exception):
    """Somebody else listens there."""


class QuietHandler(WSGIRequestHandler):
    """Answers without a line for each request: the service's own log has them."""

    def log(self, type: str, message: str, *args: object) -> None:  # noqa: A002 - the name is werkzeug's
        """Say nothing."""

    def send_response(self, code: int, message: str | None = None) -> None:
        """Begin an answer."""
        self._is_dated = False
        super().send_response(code, message)

    def send_header(self, keyword: str, value: str) -> None:
        """Send a header; the date once, which a conditional answer tells by itself."""
        if keyword == "Date" and self._is_dated:
            return
        self._is_dated = self._is_dated or keyword == "Date"
        super().send_header(keyword, value)


def listening(wanted: int | None, *, first: int) -> socket.socket:
    """Return a socket that listens at the port wanted, or else at the first free one.

    It is held from now on: another demo that begins while this one's day is made takes the next.

    Raises
    ------
    PortTaken
    """
    candidates = [wanted] if wanted is not None else range(first, first + PORTS_TRIED)
    for port in candidates:
        held = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            held.bind((HOST, port))
            held.listen(QUEUED)
        except OSError as error:
            held.close()
            if error.errno != errno.EADDRINUSE:
                raise
        else:
            return held
    last = f" to {first + PORTS_TRIED - 1}" if wanted is None else ""
    raise PortTaken(f"Port {wanted or first}{last} on {HOST} is taken; choose another with --port.")


def port_of(held: socket.socket) -> int:
    """Return the port that a socket listens at."""
    port: int = held.getsockname()[1]
    return port


def server_of(app: Flask, held: socket.socket) -> BaseWSGIServer:
    """Return a server that answers several requests at a time; it is not serving yet."""
    return make_server(
        HOST,
        port_of(held),
        app,
        threaded=True,
        request_handler=QuietHandler,
        fd=held.fileno(),
    )


class PlannerBehind:
    """Makes or finds machine code behind, and tells when days are searched with it."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        """Begin, unless the environment wants none."""
        self._tell = tell
        self._process: subprocess.Popen[bytes] | None = None
        self._ended = False
        self._starting = threading.Lock()
        if os.environ.get(PLAINLY, "0") in {"", "0"}:
            threading.Thread(target=self._get, daemon=True).start()

    def end(self) -> None:
        """Stop what is still being made."""
        with self._starting:
            self._ended = True
        if self._process is not None and self._process.poll() is None:
            self._process.terminate()
            self._process.wait()

    def _get(self) -> None:
        from service.planning.warm import is_kept, warm  # noqa: PLC0415 - the demo is ready first

        if not is_kept() and not self._made():
            return
        take_over()
        warm()
        self._tell("the planner runs as machine code: from now on whole days are searched")

    def _made(self) -> bool:
        """Make machine code in a process of its own, so that the demo answers meanwhile."""
        self._tell("the planner is being compiled behind, once on this machine")
        began_s = time.perf_counter()
        from service.planning.warm import start_making  # noqa: PLC0415 - see above

        with self._starting:  # nothing is left behind by a demo that ends in this very moment
            if self._ended:
                return False
            self._process = start_making()
        while self._process.poll() is None:
            time.sleep(LOOK_AFTER_S)
        if self._process.returncode != 0 and not self._ended:
            self._tell("the planner could not be compiled; first plans will do")
        if self._process.returncode == 0:
            self._tell(f"compiled in {time.perf_counter() - began_s:.0f} s")
        return self._process.returncode == 0

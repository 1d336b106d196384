"""Serve the demo from this very process, so that its clock and its records are one story."""

from __future__ import annotations

import errno
import socket
from contextlib import closing
from typing import Final

from flask import Flask
from werkzeug.serving import BaseWSGIServer, WSGIRequestHandler, make_server

HOST: Final = "127.0.0.1"
PORTS_TRIED: Final = 20


class PortTaken(Exception):
    """Somebody else listens there."""


class QuietHandler(WSGIRequestHandler):
    """Answers without a line for each request: the service's own log has them."""

    def log(self, type: str, message: str, *args: object) -> None:  # noqa: A002 - the name is werkzeug's
        """Say nothing."""


def free_port(wanted: int | None, *, first: int) -> int:
    """Return the port wanted, or else the first free one from `first` on.

    Raises
    ------
    PortTaken
    """
    candidates = [wanted] if wanted is not None else range(first, first + PORTS_TRIED)
    for port in candidates:
        with closing(socket.socket(socket.AF_INET, socket.SOCK_STREAM)) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError as error:
                if error.errno != errno.EADDRINUSE:
                    raise
                continue
            found: int = probe.getsockname()[1]
            return found
    last = f" to {first + PORTS_TRIED - 1}" if wanted is None else ""
    raise PortTaken(f"Port {wanted or first}{last} on {HOST} is taken; choose another with --port.")


def server_of(app: Flask, *, port: int) -> BaseWSGIServer:
    """Return a server that answers several requests at a time; it is not serving yet."""
    return make_server(HOST, port, app, threaded=True, request_handler=QuietHandler)

"""Ports that nobody listens at."""

import socket


def free_port() -> int:
    """Return a port of this machine alone at which nothing listens by now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port

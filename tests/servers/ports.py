"""Ports that nobody listens at."""

import socket
from random import SystemRandom

# Below those that a system gives to whoever asks for any, or calls somebody (Linux from 32,768,
# RFC 6335 from 49,152), and above those that a demo takes by itself: nothing else comes here.
FIRST, LAST = 20_000, 32_000


def free_port() -> int:
    """Return a port of this machine alone at which nothing listens, nor will before it is used."""
    while True:
        port = SystemRandom().randint(FIRST, LAST)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
        return port

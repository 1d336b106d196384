import socket
from contextlib import closing

import pytest

from service.demo.server import HOST, PortTaken, free_port, listening, port_of


@pytest.fixture
def taken():
    with closing(socket.create_server((HOST, 0))) as server:
        yield server.getsockname()[1]


def test_a_taken_port_is_passed_over(taken):
    assert free_port(None, first=taken) > taken


def test_a_port_that_was_asked_for_is_not_exchanged_for_another(taken):
    with pytest.raises(PortTaken, match=str(taken)):
        free_port(taken, first=8080)


def test_a_demo_that_makes_its_day_keeps_its_port(taken):
    with listening(None, first=taken) as held:
        assert free_port(None, first=taken) > port_of(held)
        with pytest.raises(PortTaken):
            listening(port_of(held), first=8080)

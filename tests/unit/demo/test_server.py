import socket
from contextlib import closing

import pytest

from service.demo.server import HOST, PortTaken, listening, port_of


@pytest.fixture
def taken():
    with closing(socket.create_server((HOST, 0))) as server:
        yield server.getsockname()[1]


def test_a_taken_port_is_passed_over(taken):
    with listening(None, first=taken) as held:
        assert port_of(held) > taken


def test_a_port_that_was_asked_for_is_not_exchanged_for_another(taken):
    with pytest.raises(PortTaken, match=str(taken)):
        listening(taken, first=8080)


def test_a_demo_that_makes_its_day_keeps_its_port(taken):
    with listening(None, first=taken) as held:
        with listening(None, first=taken) as next_one:
            assert port_of(next_one) > port_of(held)
        with pytest.raises(PortTaken):
            listening(port_of(held), first=8080)

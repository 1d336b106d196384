import socket
import threading
from contextlib import closing
from http.client import HTTPConnection

import pytest
from flask import Flask, Response, request

from service.demo.server import HOST, PortTaken, listening, port_of, server_of


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


def test_an_answer_has_each_header_once():
    with listening(None, first=8080) as held:
        app = Flask("demo")
        app.add_url_rule("/", "front", lambda: Response("Grass.").make_conditional(request))
        server = server_of(app, held)
        answering = threading.Thread(target=server.handle_request)
        answering.start()
        asked = HTTPConnection(HOST, port_of(held))
        asked.request("GET", "/")
        told = [name for name, _ in asked.getresponse().getheaders()]
        answering.join()
        server.server_close()
    assert len(told) == len(set(told))
    assert "Date" in told

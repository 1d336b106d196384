"""Slow callers cost sockets, not threads: whoever asks properly is answered beside them."""

import socket
import threading
import time

import pytest
import requests
from waitress import wasyncore
from waitress.task import ThreadedTaskDispatcher

from service.cli import reading
from service.cli.reading import serving
from tests.effort import LOST_AFTER_S

SLOW = 200


def application(environ, start_response):
    body = environ["wsgi.input"].read()
    start_response("200 OK", [("Content-Length", str(len(body))), ("Content-Type", "text/plain")])
    return [body]


@pytest.fixture
def served():
    """Serve from a thread with two threads for answers; yield how to begin, and the address."""
    listener = socket.create_server(("127.0.0.1", 0), backlog=1024)
    listener.settimeout(0)
    ended = threading.Event()
    waiters: dict = {}
    threads = ThreadedTaskDispatcher()
    threads.set_thread_count(2)
    made = []

    def begin(**more):
        server = serving(
            application,
            listener,
            threads=threads,
            waiters=waiters,
            **{"longest_body_bytes": 1000, **more},
        )
        made.append(server)

        def loop():
            while not ended.is_set():
                wasyncore.poll2(0.05, waiters)

        thread = threading.Thread(target=loop, daemon=True)
        thread.start()
        made.append(thread)
        return listener.getsockname(), server

    yield begin
    ended.set()
    made[1].join(LOST_AFTER_S)
    threads.shutdown(timeout=1)
    wasyncore.close_all(waiters)


def slow(address, sent=b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: "):
    one = socket.create_connection(address)
    one.sendall(sent)
    return one


def posted(address, session=requests):
    return session.post(
        f"http://{address[0]}:{address[1]}/", data=b"hello", timeout=LOST_AFTER_S
    ).text


def is_closed(one):
    one.settimeout(LOST_AFTER_S)
    try:
        return one.recv(1) == b""
    except ConnectionResetError:
        return True


def test_many_unfinished_headers_and_bodies_stop_nobody(served):
    address, _ = served()
    body = b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\nhalf"
    sockets = [slow(address, *([body] if number % 2 else [])) for number in range(SLOW)]
    assert [posted(address) for _ in range(20)] == ["hello"] * 20
    for one in sockets:
        one.close()


def test_more_slow_callers_than_there_are_sockets_stop_nobody(served):
    address, server = served(most_sockets=20)
    sockets = [slow(address) for _ in range(SLOW)]
    assert [posted(address) for _ in range(20)] == ["hello"] * 20
    assert len(server.active_channels) <= 20
    assert is_closed(sockets[0])
    for one in sockets:
        one.close()


def test_who_takes_too_long_over_a_header_is_shown_out_though_it_goes_on_sending(
    served, monkeypatch
):
    in_time = reading.HEADERS_WITHIN_S
    monkeypatch.setattr(reading, "HEADERS_WITHIN_S", 0.0)
    address, _ = served()
    one = slow(address)
    assert is_closed(one)
    one.close()
    # On a busy machine nobody's header is read in no time at all.
    monkeypatch.setattr(reading, "HEADERS_WITHIN_S", in_time)
    assert posted(address) == "hello"


@pytest.fixture
def polled():
    """Serve with the polls made by hand: yield how to begin, the address and how to poll."""
    listener = socket.create_server(("127.0.0.1", 0), backlog=16)
    listener.settimeout(0)
    waiters: dict = {}
    threads = ThreadedTaskDispatcher()
    threads.set_thread_count(1)

    def begin(**more):
        return serving(
            application,
            listener,
            threads=threads,
            waiters=waiters,
            **{"longest_body_bytes": 1000, **more},
        )

    yield begin, listener.getsockname(), lambda: wasyncore.poll2(0.05, waiters)
    threads.shutdown(timeout=1)
    wasyncore.close_all(waiters)


def answered(one, poll):
    one.settimeout(0.01)
    until = time.monotonic() + LOST_AFTER_S
    while time.monotonic() < until:
        poll()
        try:
            return one.recv(1000)
        except TimeoutError:
            continue
    return b"nothing"


WHOLE = b"GET / HTTP/1.1\r\nHost: x\r\n\r\n"


def test_what_the_poll_still_tells_of_who_was_shown_out_does_not_end_who_comes(polled, monkeypatch):
    begin, address, poll = polled
    server = begin()
    with slow(address) as out:
        poll()
        poll()
        assert server.active_channels
        monkeypatch.setattr(reading, "HEADERS_WITHIN_S", -1.0)
        server.next_channel_cleanup = 0
        # Shown out while the poll is made ready, and who comes is taken in by that same poll.
        with slow(address, WHOLE) as comes:
            poll()
            monkeypatch.setattr(reading, "HEADERS_WITHIN_S", 10.0)
            assert answered(comes, poll).startswith(b"HTTP/1.1 200")
        assert is_closed(out)


def test_who_makes_room_while_sending_does_not_end_who_comes(polled):
    begin, address, poll = polled
    begin(most_sockets=1)
    with slow(address) as out:
        poll()
        poll()
        out.sendall(b"more")
        with socket.create_connection(address) as comes:
            poll()
            comes.sendall(WHOLE)
            assert answered(comes, poll).startswith(b"HTTP/1.1 200")
        assert is_closed(out)


def test_who_asks_again_over_one_connection_is_not_shown_out_after_the_time_for_headers(
    polled, monkeypatch
):
    begin, address, poll = polled
    server = begin()
    with slow(address, WHOLE) as one:
        assert answered(one, poll).startswith(b"HTTP/1.1 200")
        monkeypatch.setattr(reading, "HEADERS_WITHIN_S", -1.0)
        server.next_channel_cleanup = 0
        poll()
        one.sendall(WHOLE)
        assert answered(one, poll).startswith(b"HTTP/1.1 200")


def test_what_is_no_http_is_refused_in_the_shape_of_every_failure(served):
    address, _ = served()
    one = slow(address, b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"a" * 40_000 + b"\r\n\r\n")
    one.settimeout(LOST_AFTER_S)
    answer = one.recv(10_000)
    assert answer.startswith((b"HTTP/1.1 431 ", b"HTTP/1.0 431 "))
    assert b"application/problem+json" in answer
    one.close()

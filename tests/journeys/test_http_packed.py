"""What is long is sent packed to whoever takes it so, and a plan's words are written once."""

import gzip

import pytest

from tests.holds import DAY, Yard

GZIP = {"Accept-Encoding": "gzip"}


@pytest.fixture
def yard():
    yard = Yard()
    yard.job = yard.mow(yard.lawn("Front"), at="10:00")
    return yard


def routing(yard, **headers):
    query = {"depot_id": yard.ids["depots"]}
    return yard.client.get(f"/days/{DAY}/routing", query_string=query, headers=headers)


def test_who_takes_gzip_gets_the_same_words_in_fewer_bytes(yard):
    plain = routing(yard)
    assert "Content-Encoding" not in plain.headers
    for _ in range(2):
        packed = routing(yard, **GZIP)
        assert packed.headers["Content-Encoding"] == "gzip"
        assert "Accept-Encoding" in packed.headers["Vary"]
        assert len(packed.data) < len(plain.data) / 2
        assert int(packed.headers["Content-Length"]) == len(packed.data)
        assert gzip.decompress(packed.data) == plain.data
        assert packed.headers["ETag"] == plain.headers["ETag"]


@pytest.mark.parametrize("takes", ["gzip;q=0", "identity", "br"])
def test_who_does_not_take_gzip_gets_none(yard, takes):
    assert "Content-Encoding" not in routing(yard, **{"Accept-Encoding": takes}).headers


def test_who_has_it_gets_304_however_it_was_sent(yard):
    tag = routing(yard, **GZIP).headers["ETag"]
    assert tag.startswith("W/")  # one plan in two encodings is two strings of bytes
    for headers in ({}, GZIP):
        known = routing(yard, **{"If-None-Match": tag}, **headers)
        assert (known.status_code, known.data, known.headers["ETag"]) == (304, b"", tag)


def test_what_amendments_are_held_against_is_sent_as_it_is(yard):
    yard.patch(yard.bed, {"where_to_lay": "Behind the shed. " * 20})
    told = yard.client.get(yard.bed, headers=GZIP)
    assert "Content-Encoding" not in told.headers
    assert not told.headers["ETag"].startswith("W/")


def test_a_plan_that_was_read_before_is_not_read_again_and_the_next_one_is(yard):
    first = routing(yard)
    again = routing(yard)
    assert (again.data, again.headers["Content-Language"]) == (first.data, "en")
    assert routing(yard, **{"Accept-Language": "pl"}).headers["Content-Language"] == "pl"
    yard.mow(yard.lawn("Back"), at="11:00")
    later = routing(yard)
    assert later.json["revision"] > first.json["revision"]
    assert later.headers["ETag"] != first.headers["ETag"]


def test_the_contract_is_sent_once(yard):
    first = yard.client.get("/openapi.json", headers=GZIP)
    assert first.headers["Content-Encoding"] == "gzip"
    known = yard.client.get("/openapi.json", headers={"If-None-Match": first.headers["ETag"]})
    assert (known.status_code, known.data) == (304, b"")

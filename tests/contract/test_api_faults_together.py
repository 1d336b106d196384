"""Every faulty part of a request is named in one answer: path, query, header and body."""

import pytest

from tests.contract.operations import OPERATIONS, faults_in

NOBODY = "00000000-0000-0000-0000-000000000007"
BAD_DAY = "the day after"


def named(response):
    """Return where the faults of an answer are, by the part of the request."""
    assert response.status_code == 422, response.text
    return {
        (kind, error[kind])
        for error in response.json["errors"]
        for kind in ("pointer", "parameter", "header")
        if kind in error
    }


@pytest.fixture(scope="module")
def client(yard):
    return yard.client


def query_of(operation):
    """Return the names of what a query may say."""
    return {one["name"] for one in operation.said.get("parameters", ()) if one["in"] == "query"}


ASKED = [one for one in OPERATIONS if one.method == "get" and one.needs_key and query_of(one)]


@pytest.mark.parametrize("operation", ASKED, ids=str)
def test_every_faulty_parameter_of_a_read_is_named_at_once(operation, client, document):
    query = query_of(operation)
    address = operation.address(record_id=NOBODY, note_id=NOBODY, day=BAD_DAY)
    # It is no id, no word, no number and no date, and longer than any text may be.
    answer = client.get(
        address, query_string=dict.fromkeys([*query, "no_such"], "\N{BULLET}" * 400)
    )
    wanted = query | {"no_such"} | ({"day"} if "{day}" in operation.path else set())
    assert {where.split(".")[0] for _, where in named(answer)} == wanted
    assert {part for part, _ in named(answer)} == {"parameter"}
    assert not faults_in(document, operation, answer)


@pytest.mark.parametrize(
    ("method", "address"), [("post", "/jobs"), ("patch", "/jobs/{}"), ("delete", "/clients/{}")]
)
def test_a_parameter_that_a_write_does_not_know_is_named_beside_the_rest(client, method, address):
    send = getattr(client, method)
    answer = send(f"{address.format(NOBODY)}?foo=1&bar=2", json={"remarks": 4})
    unknown = {("parameter", "foo"), ("parameter", "bar")}
    assert unknown <= named(answer)
    assert method == "delete" or unknown < named(answer)


def test_a_bad_day_hides_neither_the_query_nor_the_body(client):
    answer = client.post(f"/days/{BAD_DAY}/closing?depot_id=mine", json={"remarks": 4, "note": ""})
    assert named(answer) == {
        ("parameter", "day"),
        ("parameter", "depot_id"),
        ("pointer", "/remarks"),
        ("pointer", "/note"),
    }


def test_a_body_that_cannot_be_read_is_named_beside_what_else_is_wrong(client):
    bad = {"content_type": "application/json", "data": "{"}
    answer = client.post(f"/days/{BAD_DAY}/closing", **bad)
    assert named(answer) == {
        ("parameter", "day"),
        ("parameter", "depot_id"),
        ("pointer", ""),
    }
    assert client.post("/clients", **bad).json["code"] == "body_not_json"


def test_parameters_that_stand_twice_are_all_named(client):
    answer = client.get("/totals?depot_id=1&depot_id=2&by=day&by=week&since=2026-05-01")
    codes = {error["parameter"]: error["code"] for error in answer.json["errors"]}
    assert codes == {"depot_id": "not_unique", "by": "not_unique", "until": "required"}


def test_days_out_of_order_are_told_beside_a_word_that_is_none(client):
    backwards = {"since": "2026-05-24", "until": "2026-05-01"}
    answer = client.get("/totals", query_string={**backwards, "by": "year"})
    assert named(answer) == {("parameter", one) for one in ("depot_id", "by", "until")}
    answer = client.get("/recall", query_string={**backwards, "lawn_id": "mine"})
    assert named(answer) == {("parameter", "lawn_id"), ("parameter", "until")}
    answer = client.get("/recall", query_string={**backwards, "product": "A", "lot_code": "B"})
    assert named(answer) == {("parameter", "lawn_id"), ("parameter", "until")}


def test_a_header_that_is_none_hides_no_field(client):
    headers = {"Idempotency-Key": "a key with spaces"}
    answer = client.post("/jobs", json={"lawn_id": NOBODY, "state": "mowed"}, headers=headers)
    assert {("header", "Idempotency-Key"), ("pointer", "/state"), ("pointer", "/lawn_id")} <= named(
        answer
    )


def test_an_amendment_is_told_of_its_headers_and_its_fields_together(yard):
    address = f"/clients/{yard.ids['clients']}"
    long = {"Change-Reason": "x" * 400}
    answer = yard.client.patch(address, json={"name": 4, "language": "xx"}, headers=long)
    assert named(answer) == {
        ("header", "If-Match"),
        ("header", "Change-Reason"),
        ("pointer", "/name"),
        ("pointer", "/language"),
    }
    answer = yard.client.patch(address, json=[], headers=long)
    assert named(answer) == {("header", "If-Match"), ("header", "Change-Reason"), ("pointer", "")}
    assert yard.client.patch(address, json={"name": "Ash"}).status_code == 428


def test_a_version_that_is_overtaken_is_told_before_the_fields_of_the_one_meant(yard):
    headers = {"If-Match": '"99"'}
    answer = yard.client.patch(f"/clients/{yard.ids['clients']}", json={"name": 4}, headers=headers)
    assert answer.status_code == 412


def test_a_head_is_asked_as_its_get_is(yard):
    bed = f"/beds/{yard.ids['beds']}?unheard_of=1"
    assert yard.client.head(bed).status_code == yard.client.get(bed).status_code


def test_an_unknown_member_within_a_field_makes_that_field_one_that_nobody_reads(client, yard):
    change = {"consent": {"state": "refused", "given_by": "T. Green"}, "closed_on": ["2026-13-01"]}
    path = f"/beds/{yard.ids['beds']}"
    answer = client.patch(path, json=change, headers={"If-Match": "*"})
    assert named(answer) == {("pointer", "/consent/given_by"), ("pointer", "/closed_on/0")}

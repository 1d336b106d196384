import base64
import hashlib
import importlib
import pkgutil
from io import BytesIO
from uuid import UUID

import pytest

import service
from service.api.failures.problems import PROBLEM_JSON, STATUS, all_refusals, told_codes, type_of
from tests.contract.operations import OPERATIONS, faults_in, validator_of
from tests.worlds import make_world

NOBODYS = str(UUID(int=7))
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE")


NOBODY = {"record_id": NOBODYS, "note_id": NOBODYS}


def is_problem(document, response):
    assert response.mimetype == PROBLEM_JSON
    validator_of(document, document["components"]["schemas"]["Problem"]).validate(response.json)
    assert response.json["status"] == response.status_code
    assert response.json["request_id"] == response.headers["X-Request-Id"]
    return True


@pytest.fixture(scope="module")
def client(world):
    return world.client(world.firm())


def test_every_refusal_has_a_row_in_the_table_and_no_row_is_idle():
    for module in pkgutil.walk_packages(service.__path__, "service."):
        importlib.import_module(module.name)
    codes = {kind.code for kind in all_refusals() if kind.__module__.startswith("service.")}
    assert codes == set(STATUS)


def test_no_two_refusals_share_a_code():
    kinds = {kind for kind in all_refusals() if kind.__module__.startswith("service.")}
    codes = sorted(kind.code for kind in kinds)
    assert codes == sorted(set(codes))


@pytest.mark.parametrize("code", told_codes())
def test_the_type_of_every_problem_leads_to_a_page_that_explains_it(world, code):
    page = world.app.test_client().get(type_of(code))
    assert page.status_code == 200
    assert code in page.text
    told = page.text.split("</style>")[1]
    assert "{" not in told, "a placeholder nobody filled in"


def test_the_pages_of_problems_are_shown_in_the_style_their_policy_allows(world):
    page = world.app.test_client().get("/problems")
    style = page.text.split("<style>")[1].split("</style>")[0]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in page.headers["Content-Security-Policy"]


def test_there_is_no_page_for_what_is_no_problem(world):
    for slug in ("no-such", "record_missing", "rulebook-broken"):
        assert world.app.test_client().get(f"/problems/{slug}").status_code == 404


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_without_a_key_nothing_is_told(operation, world, document):
    if not operation.needs_key:
        return
    address = operation.address(**NOBODY)
    response = world.app.test_client().open(address, method=operation.method.upper())
    assert response.status_code == 401
    assert response.headers["WWW-Authenticate"].startswith("Bearer ")
    assert is_problem(document, response)


@pytest.mark.parametrize(
    "authorization",
    [
        "Bearer",
        "Bearer cd_wrong",
        "Bearer \x80\xff",
        "Basic YTpi",
        "cd_x",
        "Bearer  ",
        "Bearer a b",
    ],
)
def test_a_key_that_is_none_is_answered_401(world, document, authorization):
    response = world.app.test_client().get("/crews", headers={"Authorization": authorization})
    assert response.status_code == 401
    assert is_problem(document, response)


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_methods_that_are_not_served_are_answered_405_with_those_that_are(
    operation, client, document
):
    address = operation.address(**NOBODY)
    allowed = set(client.options(address).headers["Allow"].split(", "))
    assert operation.method.upper() in allowed
    for method in set(METHODS) - allowed:
        response = client.open(address, method=method)
        assert response.status_code == 405
        assert set(response.headers["Allow"].split(", ")) == allowed
        assert method == "HEAD" or is_problem(document, response)


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_every_operation_refuses_what_it_cannot_make(operation, client, document):
    if not operation.needs_key:
        return
    address = operation.address(**NOBODY)
    response = client.open(
        address, method=operation.method.upper(), headers={"Accept": "image/png"}
    )
    assert response.status_code == 406
    assert is_problem(document, response)


@pytest.mark.parametrize("operation", [o for o in OPERATIONS if "{" in o.path], ids=str)
def test_what_is_not_there_is_answered_404(operation, client, document):
    address = operation.address(**NOBODY)
    query = {"depot_id": NOBODYS} if "depot_id" in str(operation.said.get("parameters")) else {}
    body = {"json": {}} if operation.method in ("post", "patch") else {}
    response = client.open(
        address,
        method=operation.method.upper(),
        query_string=query,
        headers={"If-Match": '"1"'},
        **body,
    )
    assert response.status_code == 404
    assert is_problem(document, response)
    assert not faults_in(document, operation, response)


@pytest.mark.parametrize("address", ["/nothing", "/crews/", "/crews/5", "/docs/x", "/crews//"])
def test_addresses_that_lead_nowhere_are_answered_404(client, document, address):
    response = client.get(address)
    assert response.status_code == 404
    assert is_problem(document, response)


BROKEN_BODIES = {
    "cut off": b'{"name": ',
    "two values": b"{} {}",
    "NaN": b'{"name": NaN}',
    "infinity": b'{"name": -Infinity}',
    "a name twice": b'{"name": "a", "name": "b"}',
    "a name twice, deep": b'{"a": [{"b": 1, "b": 1}]}',
    "not UTF-8": b'{"name": "\xff"}',
    "nested without end": b"[" * 100_000,
    "a byte order mark": b"\xef\xbb\xbf{}",
    "nothing": b"",
}


@pytest.mark.parametrize("body", BROKEN_BODIES.values(), ids=BROKEN_BODIES)
def test_a_body_that_is_no_json_is_answered_400(client, document, body):
    for method, address in (("POST", "/crews"), ("POST", "/jobs/batches")):
        response = client.open(address, method=method, data=body, content_type="application/json")
        assert response.status_code == 400
        assert is_problem(document, response)


@pytest.mark.parametrize("body", ["[]", "5", '"text"', "null", "true"])
def test_a_body_that_is_no_object_is_answered_422(client, document, body):
    response = client.post("/crews", data=body, content_type="application/json")
    assert response.status_code == 422
    assert is_problem(document, response)
    assert response.json["errors"][0]["pointer"] == ""


@pytest.mark.parametrize(
    "kind",
    ["text/plain", "application/xml", "multipart/form-data", "application/json; charset=latin-1"],
)
def test_a_body_of_another_kind_is_answered_415(client, document, kind):
    response = client.post("/crews", data=b"{}", content_type=kind)
    assert response.status_code == 415
    assert is_problem(document, response)


def test_a_body_that_is_too_long_is_answered_413(client, world, document):
    limit = world.app.config["MAX_CONTENT_LENGTH"]
    response = client.post("/crews", data=b" " * (limit + 1), content_type="application/json")
    assert response.status_code == 413
    assert str(limit) in response.json["detail"]
    assert is_problem(document, response)


def test_a_body_that_comes_in_chunks_is_no_way_around_the_limit(client, world, document):
    limit = world.app.config["MAX_CONTENT_LENGTH"]
    for headers in ({}, {"Idempotency-Key": "chunks"}):
        response = client.post(
            "/crews",
            input_stream=BytesIO(b" " * (limit + 1)),
            content_type="application/json",
            headers={**headers, "Transfer-Encoding": "chunked"},
            environ_overrides={"wsgi.input_terminated": True},
        )
        assert response.status_code == 413
        assert is_problem(document, response)


def test_a_bug_says_nothing_but_the_request_id(document):
    world = make_world()
    client = world.client(world.firm())
    world.open_unit_of_work.kept = None
    response = client.get("/crews", headers={"X-Request-Id": "the-callers-own-id"})
    assert response.status_code == 500
    assert is_problem(document, response)
    assert response.json["request_id"] == "the-callers-own-id"
    assert "errors" not in response.json
    assert "NoneType" not in response.text


def test_a_service_without_its_database_lives_but_is_not_ready(document):
    world = make_world()
    client = world.app.test_client()
    assert client.get("/ready").json == {"status": "ok"}
    world.open_unit_of_work.kept = None
    assert client.get("/health").json == {"status": "ok"}
    response = client.get("/ready")
    assert response.status_code == 503
    assert response.headers["Retry-After"]
    assert is_problem(document, response)


def test_every_answer_carries_the_headers_that_keep_browsers_careful(client):
    for address in ("/crews", "/nothing", "/health", "/docs", "/problems"):
        headers = client.get(address).headers
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert "default-src 'none'" in headers["Content-Security-Policy"]


def test_the_manual_asks_nothing_of_the_outside(client):
    page = client.get("/docs").text
    assert "http" not in page.replace("http-equiv", "")
    for address in ("/docs/swagger-ui-bundle.js", "/docs/swagger-ui.css", "/docs/start.js"):
        answer = client.get(address)
        assert answer.status_code == 200
        answer.close()

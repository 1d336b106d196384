import json
from pathlib import Path

import openapi_spec_validator
import pytest

from service.api.contract.document import document_text
from tests.contract.operations import OPERATIONS, resolved, validator_of

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"


def test_the_committed_contract_is_what_the_code_says(document):
    assert COMMITTED.read_text() == document_text(document), (
        "write it again: python -m service.bootstrap > openapi/openapi.json"
    )


def test_the_contract_is_valid_openapi_3_1(document):
    assert document["openapi"].startswith("3.1.")
    openapi_spec_validator.validate(document)


def test_the_contract_is_served_as_it_is_committed(world):
    assert world.app.test_client().get("/openapi.json").text == COMMITTED.read_text()


def test_every_route_is_in_the_contract_but_pages_for_people(world, document):
    pages = {"/", "/docs", "/docs/start.js", "/docs/<name>", "/problems", "/problems/<slug>"}
    pages |= {"/notes/", "/notes/<path:rest>"}  # a link that was cut short is answered as a page
    served = {
        rule.rule
        for rule in world.app.url_map.iter_rules()
        if rule.rule != "/openapi.json"
        and not rule.rule.startswith(("/feeds/", "/gate/", "/join/", "/screens"))
    }
    assert len(served - pages) == len(document["paths"])


def test_no_two_operations_share_a_name():
    names = [operation.said["operationId"] for operation in OPERATIONS]
    assert sorted(names) == sorted(set(names))


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_every_operation_has_a_summary_that_is_a_sentence(operation):
    summary = operation.said["summary"]
    assert summary[0].isupper()
    assert summary.endswith(".")


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_every_operation_says_how_it_fails(operation):
    failures = {int(status) for status in operation.said["responses"] if int(status) >= 400}
    assert 500 in failures
    if operation.needs_key:
        assert {401, 403} <= failures
    if "{" in operation.path:
        assert 404 in failures
    if "requestBody" in operation.said:
        assert {400, 413, 415, 422} <= failures
    # A search is no record that people amend: cancelling it twice is as cancelling it once.
    if operation.method in ("patch", "delete") and operation.path != "/searches/{record_id}":
        assert {412, 428} <= failures


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_every_example_keeps_to_its_schema(operation, document):
    contents = []
    if "requestBody" in operation.said:
        contents += operation.said["requestBody"]["content"].values()
    for said in operation.said["responses"].values():
        contents += resolved(document, said).get("content", {}).values()
    for content in contents:
        examples = [shown["value"] for shown in content.get("examples", {}).values()]
        examples += [content["example"]] if "example" in content else []
        for example in examples:
            validator_of(document, content["schema"]).validate(example)


@pytest.mark.parametrize("operation", [o for o in OPERATIONS if "requestBody" in o.said], ids=str)
def test_every_body_has_an_example(operation):
    assert all(said["examples"] for said in operation.said["requestBody"]["content"].values())


def test_every_json_answer_has_an_example_or_a_shape_of_its_own(document):
    bare = [
        str(operation)
        for operation in OPERATIONS
        for status, said in operation.said["responses"].items()
        if status.startswith("2")
        for kind, content in resolved(document, said).get("content", {}).items()
        if kind == "application/json" and "$ref" in content["schema"] and "example" not in content
    ]
    assert bare == []


def arrays_in(schema, place=""):
    """Yield the place and the schema of every array of a document."""
    members = schema.items() if isinstance(schema, dict) else enumerate(schema)
    if isinstance(schema, dict) and "array" in (schema.get("type"), *(schema.get("type") or ())):
        yield place, schema
    for name, member in members:
        if isinstance(member, dict | list):
            yield from arrays_in(member, f"{place}/{name}")


def test_every_list_of_the_contract_says_what_is_in_it(document):
    bare = [
        place for place, schema in arrays_in(document) if not {"items", "prefixItems"} & {*schema}
    ]
    assert bare == []


def test_the_contract_names_no_place_but_its_own():
    assert "http://" not in COMMITTED.read_text()
    told = json.loads(COMMITTED.read_text())
    assert told["servers"] == [{"url": "/"}]


def test_every_weekday_of_the_contract_says_which_day_is_nought(document):
    weekdays = [
        schema["properties"]["weekday"]
        for schema in document["components"]["schemas"].values()
        if "weekday" in schema.get("properties", {})
    ]
    assert weekdays
    assert all("Monday is 0" in field["description"] for field in weekdays)

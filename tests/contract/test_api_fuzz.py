"""Every operation is sent what the contract allows, and what it does not."""

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.contract.operations import OPERATIONS
from tests.effort import examples
from tests.worlds import furnish, work

CHECKS = [
    not_a_server_error,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
]
EXAMPLES = examples(20)


@pytest.fixture(scope="module")
def schema(world):
    return schemathesis.openapi.from_wsgi("/openapi.json", world.app)


@pytest.fixture(scope="module")
def kept(world):
    """Return a furnished firm, its key, and all that is kept, to begin each example with."""
    yard = work(furnish(world))
    key = yard.client.environ_base["HTTP_AUTHORIZATION"]
    return yard.ids, key, {name: dict(rows) for name, rows in world.open_unit_of_work.kept.items()}


@pytest.mark.parametrize("operation", OPERATIONS, ids=str)
def test_no_request_breaks_the_contract(operation, schema, world, kept):
    ids, key, rows = kept
    described = schema[operation.path][operation.method]
    allowed = described.as_strategy(generation_mode=GenerationMode.POSITIVE)
    anything = described.as_strategy(generation_mode=GenerationMode.NEGATIVE)
    takes_input = "parameters" in operation.said or "requestBody" in operation.said
    cases = allowed | anything if takes_input or "{" in operation.path else allowed

    @settings(
        max_examples=EXAMPLES,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def ask(case):
        world.open_unit_of_work.kept.update({name: dict(some) for name, some in rows.items()})
        own = ids.get(operation.path.split("/")[1])
        if own and "record_id" in (case.path_parameters or {}):
            case.path_parameters["record_id"] = own
        headers = {"Authorization": key, "Accept-Encoding": "identity"}  # its client unpacks none
        if operation.method in ("patch", "delete"):
            headers["If-Match"] = "*"
        case.call_and_validate(headers=headers, checks=CHECKS)

    ask()

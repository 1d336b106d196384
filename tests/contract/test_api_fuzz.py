"""Every operation is sent what the contract allows, and what it does not."""

import hypothesis
import pytest
import schemathesis
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.worlds import furnish, make_world, work

CHECKS = [
    not_a_server_error,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
]
WORLD = make_world()
SCHEMA = schemathesis.openapi.from_wsgi("/openapi.json", WORLD.app)
SCHEMA.config.generation.update(modes=[GenerationMode.POSITIVE, GenerationMode.NEGATIVE])


@pytest.fixture(scope="module")
def kept():
    """Return a furnished firm, its key, and all that is kept, to begin each example with."""
    yard = work(furnish(WORLD))
    key = yard.client.environ_base["HTTP_AUTHORIZATION"]
    return yard.ids, key, {name: dict(rows) for name, rows in WORLD.open_unit_of_work.kept.items()}


@SCHEMA.parametrize()
@hypothesis.settings(
    max_examples=4,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(hypothesis.HealthCheck),
    phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
)
def test_no_request_breaks_the_contract(case, kept):
    ids, key, rows = kept
    WORLD.open_unit_of_work.kept.update({name: dict(some) for name, some in rows.items()})
    own = ids.get(case.path.split("/")[1])
    if own and "record_id" in (case.path_parameters or {}):
        case.path_parameters["record_id"] = own
    headers = {"Authorization": key}
    if case.method in ("PATCH", "DELETE"):
        headers["If-Match"] = "*"
    case.call_and_validate(headers=headers, checks=CHECKS)

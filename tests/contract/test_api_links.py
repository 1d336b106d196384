"""The contract's links are followed: what is kept is read, amended and ended by what they say."""

import re

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings

from tests.contract.operations import DOCUMENT, OPERATIONS
from tests.contract.test_api_fuzz import CHECKS
from tests.effort import examples

BY_ID = {one.said["operationId"]: one for one in OPERATIONS}
LINKS = [
    (operation, status, name)
    for operation in OPERATIONS
    for status, answer in operation.said["responses"].items()
    for name in answer.get("links", ())
]
# Kept without naming another record, so that a drawn one is taken.
ROOTS = ("clients", "crews")


@pytest.mark.parametrize("link", LINKS, ids=lambda link: f"{link[0]}-{link[2]}")
def test_a_link_names_an_operation_and_all_of_its_gaps(link):
    operation, status, name = link
    said = operation.said["responses"][status]["links"][name]
    to = BY_ID[said["operationId"]]
    taken = {
        one["name"]: one.get("required", False)
        for one in [
            *to.said.get("parameters", ()),
            *DOCUMENT["paths"][to.path].get("parameters", ()),
        ]
    }
    assert said["parameters"].keys() <= taken.keys()
    assert {one for one, required in taken.items() if required} <= said["parameters"].keys()


def test_what_is_kept_is_read_amended_and_ended_by_the_links_of_the_contract(world, yard):
    reached = set()
    key = yard.client.environ_base["HTTP_AUTHORIZATION"]
    rooms = schemathesis.openapi.from_wsgi("/openapi.json", world.app).include(
        path_regex=f"^/({'|'.join(ROOTS)})(/.record_id.(/history)?)?$"
    )

    class Followed(rooms.as_state_machine()):
        def get_call_kwargs(self, case):  # noqa: ARG002 - as it is called
            # Its client unpacks nothing.
            return {"headers": {"Authorization": key, "Accept-Encoding": "identity"}}

        def after_call(self, response, case):
            if response.status_code < 300:
                reached.add(re.sub(r"/[a-z-]+", "", case.operation.label, count=1))

        def validate_response(self, response, case, **named):  # noqa: ARG002 - as it is called
            case.validate_response(response, checks=CHECKS)

    Followed.run(
        settings=settings(
            max_examples=examples(40),
            stateful_step_count=12,
            deadline=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
    )
    assert reached >= {f"{method} /{{record_id}}" for method in ("GET", "PATCH", "DELETE")}
    assert "GET /{record_id}/history" in reached

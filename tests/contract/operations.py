"""Every operation of the contract, and its schemas made ready to be asked."""

from dataclasses import dataclass

import jsonschema

from service.api.contract.document import document_of
from tests.worlds import app_of_all_worlds

METHODS = ("get", "post", "patch", "delete", "put")


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    method: str
    path: str
    said: dict

    def __str__(self):
        return f"{self.method.upper()} {self.path}"

    @property
    def needs_key(self):
        return bool(self.said["security"])

    def address(self, **ids):
        """Return the address with its gaps filled."""
        names = {"name": "no_such_rule", "key": "no-such-source"}
        filled = {"day": "2026-05-24", "signature": "A" * 22, **names, **ids}
        return self.path.format(**filled)


def operations_of(document):
    return [
        Operation(method=method, path=path, said=said)
        for path, methods in document["paths"].items()
        for method, said in methods.items()
        if method in METHODS
    ]


# Written once a process: that takes more than a second.
DOCUMENT = document_of(app_of_all_worlds())
OPERATIONS = operations_of(DOCUMENT)


def validator_of(document, schema):
    """Return a validator of a schema that may refer to the document's components."""
    rooted = {**schema, "components": document["components"]}
    return jsonschema.Draft202012Validator(
        rooted, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )


def resolved(document, said):
    """Return what a reference stands for."""
    if "$ref" not in said:
        return said
    found = document
    for part in said["$ref"].removeprefix("#/").split("/"):
        found = found[part]
    return found


def faults_in(document, operation, response):
    """Return how an answer differs from what the contract says of it."""
    said = operation.said["responses"].get(str(response.status_code))
    if said is None:
        return [f"{response.status_code} is not in the contract"]
    content = resolved(document, said).get("content", {})
    if not content:
        return [] if not response.data else ["no body is in the contract"]
    kind = response.mimetype
    if kind not in content:
        return [f"{kind} is not in the contract"]
    schema = content[kind].get("schema", {})
    if not kind.endswith("json"):
        return []
    return [
        error.message[:300] for error in validator_of(document, schema).iter_errors(response.json)
    ]

"""What can be done next with a record that was just kept, or read: links of the contract."""

from __future__ import annotations

from typing import Any, Final

METHODS: Final = ("get", "post", "patch", "delete")
RECORD: Final = "/{record_id}"
GIVEN: Final = {"record_id", "If-Match"}
# Of its own answer, in the contract's runtime expressions (OpenAPI 3.1, "Runtime Expressions").
ITS_ID: Final = "$response.body#/id"
ITS_ETAG: Final = "$response.header.ETag"


def link_records(document: dict[str, Any]) -> None:
    """Write into a document which operations take the id that an answer holds.

    A POST that keeps a record leads to all that is about this record; reading one leads to
    amending it, with the ETag that was read.
    """
    paths = document["paths"]
    for path, operations in paths.items():
        kept = operations.get("post", {}).get("responses", {}).get("201")
        if kept is not None and path + RECORD in paths:
            kept["links"] = {
                said["operationId"]: _link(said)
                for below, methods in paths.items()
                if below == path + RECORD or below.startswith(path + RECORD + "/")
                for method, said in methods.items()
                if method in METHODS and _asked_of(said) <= GIVEN
            }
        if path.endswith(RECORD) and {"get", "patch"} <= operations.keys():
            amended = operations["patch"]
            operations["get"]["responses"]["200"]["links"] = {
                amended["operationId"]: _link(amended)
            }


def _asked_of(said: dict[str, Any]) -> set[str]:
    return {one["name"] for one in said.get("parameters", []) if one.get("required")}


def _link(said: dict[str, Any]) -> dict[str, Any]:
    parameters = {"record_id": ITS_ID}
    if any(one.get("name") == "If-Match" for one in said.get("parameters", [])):
        parameters["If-Match"] = ITS_ETAG
    return {"operationId": said["operationId"], "parameters": parameters}

"""Keys of programs: made, listed, rotated and revoked by the owner."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from marshmallow import post_load

from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, OTHER_ID
from service.api.contract.schemas import Answered, Described, Entries
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Identifier, Integer, Link, Moment, Text
from service.core.callers.access import Act, ApiKey, Role
from service.usecases.records.callers.api_keys import KeepKeys, KeyOf, NewKey

ABOUT: Final = (
    "Keys of programs. A key with the role `crew` is of one crew or one vehicle, one of a `site` "
    "or a `client` of that: what belongs to others does not exist for it. An owner alone keeps "
    "keys. A secret is shown once, where a key is made, and is kept nowhere; so these requests "
    "take no `Idempotency-Key`. An answer that was lost is a key to revoke."
)
# Long enough for a program to be handed its new key on the next working day, and short enough that
# a key which leaked is soon worth nothing. Common practice, no source.
OVERLAP_HOURS: Final = 72
LONGEST_OVERLAP_HOURS: Final = 24 * 90


class NewKeyFields(Described):
    """Whose a key is to be."""

    role = Choice(Role, required=True)
    name = Text(longest=120, required=True, metadata={"description": "Which program has it."})
    crew_id = Identifier()
    vehicle_id = Identifier()
    client_id = Identifier()
    compost_site_id = Identifier()
    expires_at = Moment(
        metadata={"description": "From when on it opens nothing; left out, until it is revoked."}
    )

    @post_load
    def build(self, data: Mapping[str, Any], **_: Any) -> KeyOf:
        """Return whose it is."""
        return KeyOf(**data)


class RotationFields(Described):
    """How long the old key goes on."""

    overlap_hours = Integer(
        low=0,
        high=LONGEST_OVERLAP_HOURS,
        load_default=OVERLAP_HOURS,
        metadata={"description": "For so long both keys open the same."},
    )


class KeyAnswer(Answered):
    """A key without its secret: nobody knows that."""

    id = Identifier()
    role = Choice(Role)
    name = Text(longest=120)
    crew_id = Identifier(allow_none=True)
    vehicle_id = Identifier(allow_none=True)
    client_id = Identifier(allow_none=True)
    compost_site_id = Identifier(allow_none=True)
    created_at = Moment()
    expires_at = Moment(allow_none=True)
    revoked_at = Moment(allow_none=True)
    last_used_at = Moment(
        allow_none=True, metadata={"description": "To the hour; null if it was never used."}
    )
    replaces_id = Identifier(
        allow_none=True, metadata={"description": "The key whose place it took."}
    )


class KeyWithSecretAnswer(KeyAnswer):
    """A key with its secret, shown this once."""

    secret = Text(longest=200)


class KeysAnswer(Answered):
    """Every key of the firm."""

    items = Entries(KeyAnswer)
    next = Link(allow_none=True, metadata={"description": "Always null: all are listed."})


def key_routes(keep_keys: KeepKeys, door: Door) -> Routes:
    """Return the routes of /keys."""
    routes = Routes("keys", description=ABOUT)
    answers = KeyAnswer()

    def created(made: NewKey) -> Any:
        told = {name: getattr(made.key, name) for name in answers.fields}
        return {**told, "secret": made.secret}, {"Cache-Control": "no-store"}

    @routes.operation("GET", "/keys", name="list_keys", summary="List every key of the firm.")
    @door.admits(Act.KEEP_KEYS)
    @routes.response(200, KeysAnswer, example={"items": [_EXAMPLE], "next": None})
    def list_all(asked: Asked) -> dict[str, Any]:
        return {"items": keep_keys.all(asked.caller.firm_id), "next": None}

    @routes.operation("POST", "/keys", name="create_key", summary="Make a key.")
    @door.admits(Act.KEEP_KEYS, once=False)
    @routes.body(
        NewKeyFields, example={"role": "crew", "name": "App of crew 3", "crew_id": OTHER_ID}
    )
    @routes.response(201, KeyWithSecretAnswer, example=_NEW_EXAMPLE)
    def create(asked: Asked, wanted: KeyOf) -> Any:
        return created(keep_keys.make(asked.caller.firm_id, wanted))

    @routes.operation(
        "POST",
        "/keys/<uuid:record_id>/rotate",
        name="rotate_key",
        summary="Make a key that takes another's place; for a while both open the same.",
        may_answer=(409,),
    )
    @door.admits(Act.KEEP_KEYS, once=False)
    @routes.body(RotationFields, example={"overlap_hours": 24})
    @routes.response(201, KeyWithSecretAnswer, example=_NEW_EXAMPLE)
    def rotate(asked: Asked, wanted: Mapping[str, Any], record_id: UUID) -> Any:
        overlap = timedelta(hours=wanted["overlap_hours"])
        return created(keep_keys.rotate(asked.caller.firm_id, record_id, overlap=overlap))

    @routes.operation(
        "POST",
        "/keys/<uuid:record_id>/revoke",
        name="revoke_key",
        summary="Make a key useless from now on.",
    )
    @door.admits(Act.KEEP_KEYS, once=False)
    @routes.response(200, KeyAnswer, example={**_EXAMPLE, "revoked_at": EXAMPLE_TIME.isoformat()})
    def revoke(asked: Asked, record_id: UUID) -> ApiKey:
        return keep_keys.revoke(asked.caller.firm_id, record_id)

    return routes


_EXAMPLE: Final = {
    "id": EXAMPLE_ID,
    "role": "crew",
    "name": "App of crew 3",
    "crew_id": OTHER_ID,
    "vehicle_id": None,
    "client_id": None,
    "compost_site_id": None,
    "created_at": EXAMPLE_TIME.isoformat(),
    "expires_at": None,
    "revoked_at": None,
    "last_used_at": None,
    "replaces_id": None,
}
_NEW_EXAMPLE: Final = {**_EXAMPLE, "secret": "cd_shown-this-once"}

"""A place that is chosen by hand for a load or a lot."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final

from flask import Response, jsonify

from service.api.contract.examples import EXAMPLE_ID, OTHER_ID
from service.api.contract.schemas import Described
from service.api.exchange.amending import CHANGE_REASON, reasoned
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Flag, Identifier
from service.api.work.derived import shape_of
from service.core.callers.access import Act
from service.core.errors import FieldFault
from service.usecases.planning.choose_place import ChoosePlace
from service.usecases.telling.told.choices import ChoiceTold
from service.usecases.telling.told.forms import plain

CHOICE: Final = shape_of(
    ChoiceTold,
    description=(
        "What a choice costs the day, the advice it sets aside, and in `drawn_in` every other lot "
        "that it moves along or mixes in, or has mixed with worse clippings than its plan did, in "
        "`locks_moved` every lock that it ends or that no plan keeps beside it. `load_id` "
        "carries the lock, null if it is only asked; set its `locked` to false to end the choice, "
        "also once another "
        "load carries it on. `GET /loads?locked=true` lists them."
    ),
)


class NewChoice(Described):
    """A load, or a lot by its job, and the place it is to go to."""

    load_id = Identifier()
    job_id = Identifier(
        metadata={
            "description": (
                "Of a lot that one load carries it is that load, with all that lies in it: "
                "`drawn_in` names what goes along."
            )
        }
    )
    destination_id = Identifier(required=True)
    only_ask = Flag(metadata={"description": "Tell what it costs; keep nothing."})
    move_locks = Flag(
        metadata={
            "description": (
                "Move locks on other clippings, too; without it 409 `locked_with_others` where "
                "the choice would move one that it does not name."
            )
        }
    )

    def contradictions(self, values: Mapping[str, Any]) -> list[FieldFault]:
        """Refuse what names neither, or both."""
        if ("load_id" in values) != ("job_id" in values):
            return []
        detail = "Write a load_id or a job_id."
        return [FieldFault(pointer="/load_id", detail=detail, code="one_of_these")]


def choice_routes(choose_place: ChoosePlace, door: Door) -> Routes:
    """Return the route of choices."""
    routes = Routes(
        "place-choices",
        description=(
            "The dispatcher's hand: a place for a load or a lot, checked as a plan is. Refused by "
            "law, label, road, site or client with the rule; advice is set aside by one person "
            "with a Change-Reason. A choice is a lock and is planned with the next routing."
        ),
    )

    @routes.operation(
        "POST",
        "/place-choices",
        name="choose_place",
        summary="Choose the place of a load or a lot by hand, or ask what it would cost.",
        may_answer=(404, 409),
        parameters=[CHANGE_REASON],
    )
    @door.admits(Act.PLAN)
    @reasoned
    @routes.body(NewChoice, example={"load_id": str(EXAMPLE_ID), "destination_id": OTHER_ID})
    @routes.response(201, CHOICE)
    @routes.response(200, CHOICE, description="Only asked: nothing is kept.")
    def choose(asked: Asked, wanted: Mapping[str, Any], reason: str | None) -> Response:
        only_ask = wanted.get("only_ask", False)
        choice = choose_place(
            asked.caller,
            load_id=wanted.get("load_id"),
            job_id=wanted.get("job_id"),
            destination_id=wanted["destination_id"],
            reason=reason,
            only_ask=only_ask,
            move_locks=wanted.get("move_locks", False),
            identifiers=asked.identifiers,
        )
        response = jsonify(plain(choice.told))
        response.status_code = HTTPStatus.OK if only_ask else HTTPStatus.CREATED
        return response

    return routes

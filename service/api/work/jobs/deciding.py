"""What somebody who knows decides about a job: is it another cut, and what is its grass."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from flask import Response

from service.api.contract.schemas import Described
from service.api.exchange.amending import CHANGE_REASON, reasoned
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Identifier
from service.api.records.kept import ETAG, kept_answer
from service.api.records.resource import Resource
from service.core.callers.access import Act
from service.core.errors import FieldFault
from service.usecases.records.field.decide import DecideDuplicate


class DecisionWord(StrEnum):
    """What a cut is that is too much like another one, or clippings of which something was said."""

    ANOTHER_CUT = "another_cut"
    THE_SAME = "the_same"
    AS_RECORDED = "as_recorded"
    NEVER_ABOARD = "never_aboard"
    SIZE_IS_SO = "size_is_so"
    LITTER = "litter"
    SEED = "seed"
    SMELLS = "smells"
    TREATED_OR_UNKNOWN = "treated_or_unknown"


MEANT: Final = frozenset(
    {
        DecisionWord.LITTER,
        DecisionWord.SEED,
        DecisionWord.SMELLS,
        DecisionWord.TREATED_OR_UNKNOWN,
    }
)


class Decision(Described):
    """What somebody who knows says of a possible duplicate, or of what was said of clippings."""

    decision = Choice(
        DecisionWord,
        load_default=None,
        metadata={
            "description": "`as_recorded`: what was said where it was brought (the findings "
            "`said_where_brought`) was not so, or it was kept apart from what it lay in one body "
            "with (`lay_in_one_body`). That asks the office, and a Change-Reason. `litter`, "
            "`seed`, `smells` and `treated_or_unknown`: what a client or a site meant that sent it "
            "away in its own words (`own_words` of that finding); until then, or until it is "
            "`as_recorded`, it counts as unknown. `size_is_so`: the cut is as large as recorded "
            "(the decisions `lot_too_large` and `measured_far_off`); kept in `size_confirmed`, and "
            "no longer so once area, heights, `measured_mass` or `measured_volume` are others. "
            "`never_aboard`: it never was in the vehicle on record but in that of `vehicle_id`, so "
            "it lay with nothing there; that asks the office, and a Change-Reason."
        },
    )
    vehicle_id = Identifier(
        load_default=None,
        allow_none=True,
        metadata={"description": "With `never_aboard`: the vehicle it was in from its cut on."},
    )

    def contradictions(self, values: Mapping[str, Any]) -> list[FieldFault]:
        """Return what is wrong with the word and the vehicle together."""
        is_named = values.get("vehicle_id") is not None
        if is_named is (values.get("decision") is DecisionWord.NEVER_ABOARD):
            return []
        detail = "Name the vehicle with never_aboard, and with no other word."
        return [FieldFault(pointer="/vehicle_id", detail=detail)]


def add_decisions(
    routes: Routes, resource: Resource, decide_duplicate: DecideDuplicate, door: Door
) -> None:
    """Add the route by which somebody who knows decides about a job's clippings."""
    answers = resource.answer()

    @routes.operation(
        "POST",
        "/jobs/<uuid:record_id>/decisions",
        name="decide_duplicate",
        summary="Say whether a possible duplicate is another cut, or that grass is as recorded.",
        parameters=[CHANGE_REASON],
        may_answer=(409,),
    )
    @door.admits(Act.RECORD_WORK)
    @reasoned
    @routes.body(Decision, example={"decision": DecisionWord.THE_SAME})
    @routes.response(200, answers, example=resource.answer_example(), headers=ETAG)
    def decide(
        asked: Asked, said: Mapping[str, Any], record_id: UUID, reason: str | None
    ) -> Response:
        word = said["decision"]
        if word is DecisionWord.AS_RECORDED:
            job = decide_duplicate.take_back(asked.caller, record_id, reason=reason)
            return kept_answer(answers, job)
        if word is DecisionWord.NEVER_ABOARD:
            job = decide_duplicate.never_aboard(
                asked.caller, record_id, said["vehicle_id"], reason=reason
            )
            return kept_answer(answers, job)
        if word in MEANT:
            job = decide_duplicate.say_what_was_meant(
                asked.caller, record_id, word.value, reason=reason
            )
            return kept_answer(answers, job)
        if word is DecisionWord.SIZE_IS_SO:
            job = decide_duplicate.confirm_size(asked.caller, record_id, reason=reason)
            return kept_answer(answers, job)
        is_same = None if word is None else word is DecisionWord.THE_SAME
        return kept_answer(answers, decide_duplicate(asked.caller, record_id, is_same=is_same))

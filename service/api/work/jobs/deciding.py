"""What somebody who knows decides about a job: is it another cut, and what is its grass."""

from __future__ import annotations

from collections.abc import Callable, Mapping
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
from service.core.jobs import Job
from service.usecases.records.field.decide import DecideDuplicate


class DecisionWord(StrEnum):
    """What a cut is that is too much like another one, or clippings of which something was said."""

    ANOTHER_CUT = "another_cut"
    THE_SAME = "the_same"
    AS_RECORDED = "as_recorded"
    NEVER_ABOARD = "never_aboard"
    SIZE_IS_SO = "size_is_so"
    WENT_IN_THAT_TIP = "went_in_that_tip"
    STILL_ABOARD = "still_aboard"
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
            "it lay with nothing there; that asks the office, and a Change-Reason. Of a cut that "
            "was told only after a tip (`cut_before_tip`): `went_in_that_tip`, that of `load_id`, "
            "or `still_aboard` (kept in `aboard_after`)."
        },
    )
    vehicle_id = Identifier(
        load_default=None,
        allow_none=True,
        metadata={"description": "With `never_aboard`: the vehicle it was in from its cut on."},
    )
    load_id = Identifier(
        load_default=None,
        allow_none=True,
        metadata={"description": "With `went_in_that_tip`: the load that was tipped."},
    )

    def contradictions(self, values: Mapping[str, Any]) -> list[FieldFault]:
        """Return what is wrong with the word and what is named with it."""
        asked = {"vehicle_id": DecisionWord.NEVER_ABOARD, "load_id": DecisionWord.WENT_IN_THAT_TIP}
        return [
            FieldFault(
                pointer=f"/{name}",
                detail=f"Name the {name.removesuffix('_id')} with {word}, and with no other word.",
            )
            for name, word in asked.items()
            if (values.get(name) is not None) is not (values.get("decision") is word)
        ]


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
        return kept_answer(answers, _decided(decide_duplicate, asked, said, record_id, reason))


def _decided(
    decide: DecideDuplicate,
    asked: Asked,
    said: Mapping[str, Any],
    job_id: UUID,
    reason: str | None,
) -> Job:
    """Return the job as it is decided by a word."""
    word, caller = said["decision"], asked.caller
    alone: dict[DecisionWord, Callable[..., Job]] = {
        DecisionWord.AS_RECORDED: decide.take_back,
        DecisionWord.SIZE_IS_SO: decide.confirm_size,
        DecisionWord.STILL_ABOARD: decide.still_aboard,
    }
    if word in alone:
        return alone[word](caller, job_id, reason=reason)
    if word is DecisionWord.NEVER_ABOARD:
        return decide.never_aboard(caller, job_id, said["vehicle_id"], reason=reason)
    if word is DecisionWord.WENT_IN_THAT_TIP:
        return decide.went_in(caller, job_id, said["load_id"], reason=reason)
    if word in MEANT:
        return decide.say_what_was_meant(caller, job_id, word.value, reason=reason)
    return decide(caller, job_id, is_same=None if word is None else word is DecisionWord.THE_SAME)

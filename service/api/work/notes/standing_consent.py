"""A client's standing word on further deliveries, by the signed link of a note."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import jsonify, redirect, request
from marshmallow import ValidationError
from werkzeug.wrappers import Response as AnyResponse

from service.api.books.clients import ConsentFields
from service.api.contract.schemas import Described
from service.api.exchange.bodies import JSON, read_json
from service.api.exchange.routes import Routes
from service.api.failures.faults import located
from service.api.failures.problems import STATUS
from service.api.failures.refusals import RequestNotUsable
from service.api.fields import Choice, Day, Number, Text
from service.api.work.notes.behind_links import FORM, SECRET, BehindLinks, asked_for
from service.api.work.notes.note_form import kilograms_of
from service.core.errors import Refusal
from service.usecases.notes.say_consent import SayConsent
from service.usecases.notes.show_note import ShowNote

YES: Final = "yes"
NO: Final = "no"
CONSENT_EXAMPLE: Final = {
    "further": "yes",
    "expires_on": "2026-09-30",
    "mass_per_visit_max_kg": 200,
    "signed_by": "R. Alvarez",
}


class NewConsent(Described):
    """Whether more may be brought to the bed of a note without asking each time."""

    further = Choice((YES, NO), required=True)
    expires_on = Day(
        metadata={"description": "The last day of a yes, which has one: within 366 days."}
    )
    mass_per_visit_max_kg = Number(
        above=0,
        high=40_000,
        metadata={
            "description": (
                "Of a yes: no more than the most on record, which it is if left out, and no less "
                "than the least."
            )
        },
    )
    signed_by = Text(longest=120, required=True)


def add_consent(
    routes: Routes,
    place: str,
    query_words: type[Described],
    *,
    say_consent: SayConsent,
    show_note: ShowNote,
    behind: BehindLinks,
) -> None:
    """Add the route by which whoever holds a link says yes until a day, or no more."""
    form = NewConsent()

    @routes.operation(
        "POST",
        f"{place}/consent",
        name="say_consent_by_note",
        # A broken link leads nowhere, as any address there: nothing can be sent to it.
        may_answer=(405, 409, 410),
        refuses_by_pages=True,
        summary="Say by the link of a note that more may be brought until a day, or nothing more.",
        description=(
            "As often as wanted: the last word is the bed's `consent`. A no that is on record is "
            "turned into a yes by the firm alone (409 `consent_not_by_link`)."
        ),
        requestBody={
            "required": True,
            "content": {
                kind: {
                    "schema": NewConsent,
                    "examples": {"example": {"value": CONSENT_EXAMPLE}},
                }
                for kind in (JSON, FORM)
            },
        },
    )
    @behind.for_people
    @routes.query(query_words)
    @routes.response(200, ConsentFields, example=_answer_example())
    @routes.alt_response(303, description="Back to the page; the answer to a form.")
    def say(query: Mapping[str, Any], note_id: UUID, signature: str) -> AnyResponse:
        behind.checked(note_id, signature)
        by_form = request.mimetype == FORM
        try:
            given = _given(form, _form() if by_form else read_json(request))
            consent = say_consent(
                note_id,
                is_yes=given["further"] == YES,
                name=given["signed_by"],
                expires_on=given.get("expires_on"),
                most_kg=given.get("mass_per_visit_max_kg"),
            )
        except Refusal as refusal:
            status = STATUS[refusal.code]
            if not by_form or status not in {HTTPStatus.CONFLICT, HTTPStatus.UNPROCESSABLE_ENTITY}:
                raise
            shown = show_note.newest(note_id)
            return behind.page(shown, query, is_unkept_consent=True, status=status)
        if by_form:
            back = request.path.removesuffix("/consent")
            answer: AnyResponse = redirect(
                f"{back}{asked_for(query)}#further", HTTPStatus.SEE_OTHER
            )
        else:
            answer = jsonify(ConsentFields().dump(consent))
        answer.headers.update(SECRET)
        return answer


def _given(form: NewConsent, sent: Any) -> Mapping[str, Any]:
    try:
        given: Mapping[str, Any] = form.load(sent)
    except ValidationError as error:
        raise RequestNotUsable(located(error.messages)) from None
    return given


def _form() -> dict[str, Any]:
    """Return what a form sent; a field left empty was not answered."""
    filled: dict[str, Any] = {name: value for name, value in request.form.items() if value.strip()}
    if "further_by" in filled:  # the other form of the page has a name, too
        filled["signed_by"] = filled.pop("further_by")
    unit, typed = filled.pop("most_unit", None), filled.pop("most_amount", None)
    if typed is not None:
        kg = kilograms_of(typed, unit)
        filled["mass_per_visit_max_kg"] = typed if kg is None else kg
    return filled


def _answer_example() -> dict[str, Any]:
    return {
        "state": "given",
        "given_on": "2026-05-24",
        "expires_on": "2026-09-30",
        "mass_per_visit_max_kg": 200,
        "mass_per_visit_min_kg": None,
        "mass_per_month_max_kg": None,
    }

"""What was put on a lawn: said on a form, with what it changes told before it is kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import JobState
from service.core.records import Identifiers
from service.core.treatments import LabelWait, StatementSource, Treatment
from service.pages.day.screen import OFFICE
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.once import once
from service.pages.rendering import page
from service.pages.setup.filing import every
from service.pages.tracing.names import lawns_named, now_at_yard, plan_today, products_named
from service.usecases.base.idempotency import Answer
from service.usecases.mass_book.wanted_lots import WantedLots

PLACE: Final = "/screens/treatments"
SOURCES: Final = {
    StatementSource.APPLICATOR_RECORD: "the record of whoever applied it",
    StatementSource.CLIENT_STATEMENT: "the client",
    StatementSource.CREW_OBSERVATION: "a crew, from what it saw",
    StatementSource.OTHER: "somebody else",
}
LONGEST_NAME: Final = 200
LONGEST_INGREDIENT: Final = 100
MOST_INGREDIENTS: Final = 20
LONGEST_WAIT_DAYS: Final = 3650
MOST_MOWINGS: Final = 100
MOST_SHOWN: Final = 30
_UNUSABLE: Final = HTTPStatus(422)


def treatment_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the form, what it would change, and its keeping."""
    routes = Blueprint("treatment_screens", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def show_form(sitting: Sitting) -> Response:
        return _form_page(needs, sitting.caller, said=request.args)

    @routes.post(PLACE)
    @entrance.admits(*OFFICE)
    def take(sitting: Sitting) -> AnyResponse:
        """Tell what a treatment would change; keep it once that is sent back with the word to."""
        try:
            values, key = _values(Form(request.form))
            if "keep" not in request.form:
                return _told_before(needs, sitting.caller, values)
            kept(sitting, values, key)
        except RecordNotUsable as refusal:
            return _form_page(needs, sitting.caller, said=request.form, faults=refusal.faults)
        plan_today(needs, sitting.caller)
        asked = {"lawn": values["lawn_id"], "since": values["applied_on"], "kept": 1}
        return redirect(f"/screens/trace?{urlencode(asked)}", HTTPStatus.SEE_OTHER)

    def kept(sitting: Sitting, values: Mapping[str, Any], key: str) -> None:
        def keep(identifiers: Identifiers) -> Answer:
            needs.library.treatments.create(sitting.caller, values, identifiers=identifiers)
            return Answer(status=HTTPStatus.SEE_OTHER, headers={}, body=b"")

        once(needs, sitting, key, keep)

    return routes


def _values(form: Form) -> tuple[dict[str, Any], str]:
    """Return a treatment as a form says it, and the form's key. Raises RecordNotUsable."""
    ingredients = _ingredients(form)
    days = form.number("label_days", low=0, high=LONGEST_WAIT_DAYS, required=False)
    mowings = form.number("label_mowings", low=0, high=MOST_MOWINGS, required=False)
    stays = form.flag("label_stays")
    source = form.choice("statement_source", tuple(StatementSource))
    key = form.text("key", required=True)
    values: dict[str, Any] = {
        "lawn_id": form.identifier("lawn"),
        "product": form.text("product", required=True, longest=LONGEST_NAME),
        "active_ingredients": ingredients,
        "applied_on": form.day("applied_on"),
        "stated_by": form.text("stated_by", required=True, longest=LONGEST_NAME),
        "remarks": form.text("remarks"),
    }
    form.done()
    if (days, mowings, stays) != (None, None, False):
        values["label_wait"] = LabelWait(
            days=None if days is None else round(days),
            mowings=None if mowings is None else round(mowings),
            leave_on_lawn=stays,
        )
    return {**values, "statement_source": StatementSource(source or "other")}, key or ""


def _ingredients(form: Form) -> tuple[str, ...]:
    """Return names between semicolons: "2,4-D" has a comma."""
    written = form.text("active_ingredients") or ""
    names = tuple(dict.fromkeys(name.strip() for name in written.split(";") if name.strip()))
    if len(names) > MOST_INGREDIENTS or any(len(name) > LONGEST_INGREDIENT for name in names):
        form.fault("active_ingredients", "short_text", longest=LONGEST_INGREDIENT)
    return names


def _told_before(needs: Needs, caller: Caller, values: Mapping[str, Any]) -> Response:
    """Return what a treatment would change, and where the grass lies. Raises RecordNotUsable."""
    changed = needs.library.treatments.supposed(caller, values)
    wanted = WantedLots(lawn_id=values["lawn_id"], since=values["applied_on"])
    traced: Mapping[str, Any] = needs.trace_lots(caller, wanted)
    cut = {lot["lot_code"] for lot in traced["lots"]}
    now = now_at_yard(needs, caller)
    named = {one.id: one for one in lawns_named(needs, caller)}
    return page(
        "treatment_before.html.j2",
        values=values,
        lawn=named[values["lawn_id"]],
        sources=SOURCES,
        said=[(name, text) for name, text in request.form.items() if text],
        changed=[(old, new, old.at.astimezone(now.tzinfo)) for old, new in changed],
        same=sorted(cut - {old.lot_code for old, _ in changed}),
        planned=JobState.PLANNED,
        places=traced["places"],
    )


def _form_page(
    needs: Needs,
    caller: Caller,
    *,
    said: Mapping[str, str],
    faults: Sequence[FieldFault] = (),
) -> Response:
    lawns = lawns_named(needs, caller)
    names = {one.id: one.name for one in lawns}
    return page(
        "treatment.html.j2",
        status=_UNUSABLE if faults else HTTPStatus.OK,
        lawns=lawns,
        said=said,
        faults=faults,
        sources=SOURCES,
        products=products_named(needs, caller),
        today=now_at_yard(needs, caller).date(),
        kept=_newest(every(needs.library.treatments, caller)),
        names=names,
        key=needs.new_key(),
    )


def _newest(treatments: Iterable[Treatment]) -> list[Treatment]:
    """Return the treatments that were applied last."""

    def applied(one: Treatment) -> tuple[date, datetime, UUID]:
        return one.applied_on, one.created_at, one.id

    return sorted(treatments, key=applied, reverse=True)[:MOST_SHOWN]

"""What the dispatcher does on the day: plain forms over the same use cases as the HTTP interface.

What was said is kept first, then the day is planned with it: a planning fault costs no record.
"""

from __future__ import annotations

from datetime import date, datetime
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.jobs import JobState
from service.core.loads import HoldState, ReleasedAs
from service.core.places import DestinationKind, GroundState
from service.core.records import NOBODY
from service.pages.day.screen import OFFICE, Asked
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.load_words import LOAD_ACTS, load_changes
from service.pages.needs import Needs
from service.pages.replanning import replanned
from service.pages.site_words import live_status
from service.usecases.planning.current_routing import WAITS_S
from service.usecases.records.held.release_part import ReleasedPart

WORKS_AGAIN: Final = "works_again"
ANOTHER_CUT: Final = "another_cut"
THE_SAME: Final = "the_same"
AS_RECORDED: Final = "as_recorded"
SIZE_IS_SO: Final = "size_is_so"


def act_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return what the forms of the day post to."""
    routes = Blueprint("day_acts", __name__)

    @routes.post("/screens/day/plan")
    @entrance.admits(*OFFICE)
    def plan(sitting: Sitting) -> AnyResponse:
        form = Form(request.form)
        depot_id, day = form.identifier("depot"), form.day("day")
        whole = form.flag("whole")
        form.done()
        wanted = (depot_id or NOBODY, day or date.min)
        if whole:
            needs.plan_day(sitting.caller, *wanted)
        else:
            needs.read_routing(sitting.caller, *wanted, wait_s=WAITS_S)
        return _back(*wanted)

    @routes.post("/screens/day/loads/<uuid:load_id>")
    @entrance.admits(*OFFICE)
    def say_of_load(sitting: Sitting, load_id: UUID) -> AnyResponse:
        form = Form(request.form)
        act = form.choice("act", ("lock", "unlock", *LOAD_ACTS)) or ""
        version = int(form.number("version", low=1) or 1)
        changes: dict[str, Any] = {}
        if act in {"lock", "unlock"}:
            changes = {"locked": act == "lock"}
        elif act:
            changes = load_changes(form, act)
        reason = form.text("reason")
        form.done()
        load = needs.update_load(
            sitting.caller, load_id, changes, expected_version=version, reason=reason
        )
        return planned_again(
            needs, sitting.caller, load.depot_id, load.working_day, at=f"load-{load_id}"
        )

    @routes.post("/screens/day/jobs/<uuid:job_id>/decision")
    @entrance.admits(*OFFICE)
    def decide(sitting: Sitting, job_id: UUID) -> AnyResponse:
        form = Form(request.form)
        word = form.choice("decision", (ANOTHER_CUT, THE_SAME, AS_RECORDED, SIZE_IS_SO))
        reason = form.text("reason", required=word == AS_RECORDED, longest=300)
        depot_id, day = form.identifier("depot"), form.day("day")
        form.done()
        if word == AS_RECORDED:
            needs.decide_duplicate.take_back(sitting.caller, job_id, reason=reason)
        elif word == SIZE_IS_SO:
            needs.decide_duplicate.confirm_size(sitting.caller, job_id, reason=reason)
        else:
            needs.decide_duplicate(sitting.caller, job_id, is_same=word == THE_SAME)
        return planned_again(
            needs, sitting.caller, depot_id or NOBODY, day or date.min, at="decide"
        )

    @routes.post("/screens/day/loads/<uuid:load_id>/note")
    @entrance.admits(*OFFICE)
    def issue_note(sitting: Sitting, load_id: UUID) -> AnyResponse:
        note = needs.issue_note(sitting.caller, load_id)
        return redirect(needs.note_link(note.id), HTTPStatus.SEE_OTHER)

    _add_book_acts(routes, needs, entrance)
    _add_ground(routes, needs, entrance)
    _add_not_reported(routes, needs, entrance)
    _add_late_cut(routes, needs, entrance)
    return routes


def _add_book_acts(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add what is said of vehicles, sites and bays."""

    @routes.post("/screens/day/vehicles/<uuid:vehicle_id>")
    @entrance.admits(*OFFICE)
    def say_of_vehicle(sitting: Sitting, vehicle_id: UUID) -> AnyResponse:
        vehicle = needs.library.vehicles.read(sitting.caller, vehicle_id)
        look = needs.look_at_day(sitting.caller, vehicle.depot_id)
        zone, outages = ZoneInfo(look.depot.time_zone), needs.library.vehicle_outages
        form = Form(request.form)
        if form.choice("act", ("out", WORKS_AGAIN)) == WORKS_AGAIN:
            outage_id = form.identifier("outage")
            form.done()
            kept = outages.read(sitting.caller, outage_id or NOBODY)
            outages.amend(
                sitting.caller,
                kept.id,
                {"back_at": look.now},
                expected_version=kept.version,
                reason="works again",
            )
        else:
            values = {
                "vehicle_id": vehicle_id,
                "out_since": form.clock("since", day=look.today, zone=zone) or look.now,
                "back_at": form.clock("back", day=look.today, zone=zone),
                "reason": form.text("reason", required=True),
            }
            form.done()
            outages.create(sitting.caller, values)
        return planned_again(needs, sitting.caller, vehicle.depot_id, look.today)

    @routes.post("/screens/day/sites/<uuid:site_id>")
    @entrance.admits(*OFFICE)
    def say_of_site(sitting: Sitting, site_id: UUID) -> AnyResponse:
        sites = needs.library.compost_sites
        site = sites.read(sitting.caller, site_id)
        form = Form(request.form)
        depot_id = form.identifier("depot") or NOBODY
        form.done()
        look = needs.look_at_day(sitting.caller, depot_id)
        status = live_status(form, site, look.now)
        sites.amend(
            sitting.caller,
            site_id,
            {"live_status": status},
            expected_version=site.version,
            reason="the gate told the office",
        )
        return planned_again(needs, sitting.caller, depot_id, look.today, at="places")

    @routes.post("/screens/day/held/<uuid:entry_id>")
    @entrance.admits(*OFFICE)
    def release(sitting: Sitting, entry_id: UUID) -> AnyResponse:
        form = Form(request.form)
        place = form.text("place")
        words = form.text("released_to", required=place is None)
        part = None
        if form.text("mass_kg") is not None:
            part = form.measure("mass_kg", unit="kg", low=0.1)
            if place in {None, ReleasedAs.LIQUID_FEED}:
                form.fault("place", "choice", allowed="a bed or a site, if it was a part")
        if place == ReleasedAs.LIQUID_FEED:
            changes: dict[str, Any] = {"released_as": ReleasedAs.LIQUID_FEED}
        elif place:
            changes = _place_released_to(form, place)
        else:
            changes = {"released_as": ReleasedAs.ELSEWHERE}
        version = int(form.number("version", low=1) or 1)
        depot_id = form.identifier("depot") or NOBODY
        form.done()
        if part is not None:
            del changes["released_as"]
            needs.release_part(
                sitting.caller,
                entry_id,
                ReleasedPart(mass=part, **changes),
                expected_version=version,
                reason=words,
            )
        else:
            needs.update_hold(
                sitting.caller,
                entry_id,
                {"state": HoldState.RELEASED, "released_to": words, **changes},
                expected_version=version,
                reason=words,
            )
        look = needs.look_at_day(sitting.caller, depot_id)
        return planned_again(needs, sitting.caller, depot_id, look.today, at="waiting")


def _add_ground(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add what somebody saw of the ground of a bed."""

    @routes.post("/screens/day/beds/<uuid:bed_id>/ground")
    @entrance.admits(*OFFICE)
    def say_of_ground(sitting: Sitting, bed_id: UUID) -> AnyResponse:
        form = Form(request.form)
        state = form.choice("ground_state", tuple(GroundState))
        depot_id = form.identifier("depot") or NOBODY
        form.done()
        look, beds = needs.look_at_day(sitting.caller, depot_id), needs.library.beds
        beds.amend(
            sitting.caller,
            bed_id,
            {"ground_state": GroundState(state or ""), "ground_state_at": look.now},
            expected_version=beds.read(sitting.caller, bed_id).version,
            reason="somebody looked",
        )
        return planned_again(needs, sitting.caller, depot_id, look.today, at="decide")


def _add_not_reported(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add what became of a lawn that was planned on a day before."""

    @routes.post("/screens/day/jobs/<uuid:job_id>/not-reported")
    @entrance.admits(*OFFICE)
    def say_what_became(sitting: Sitting, job_id: UUID) -> AnyResponse:
        job = needs.record_jobs.read(sitting.caller, job_id)
        look = needs.look_at_day(sitting.caller, job.depot_id)
        planned = job.at.astimezone(ZoneInfo(look.depot.time_zone))
        form = Form(request.form)
        act = form.choice("act", ("mown", "moved", "not_mown"))
        if act == "mown":
            at = form.clock("at", day=planned.date(), zone=ZoneInfo(look.depot.time_zone))
            changes: dict[str, Any] = {"state": JobState.MOWN, "cut_at": at or planned}
        elif act == "moved":
            day = form.day("day") if form.flag("day") else look.today
            changes = {"planned_at": datetime.combine(day or date.min, planned.timetz())}
        else:
            changes = {"state": JobState.CANCELLED}
        form.done()
        needs.record_jobs.amend(
            sitting.caller,
            job_id,
            changes,
            expected_version=job.version,
            reason="the office asked what became of it",
        )
        return planned_again(needs, sitting.caller, job.depot_id, look.today, at="decide")


def _add_late_cut(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add whether a cut that was told only after a tip went in it."""

    @routes.post("/screens/day/jobs/<uuid:job_id>/late-cut")
    @entrance.admits(*OFFICE)
    def say_where_it_is(sitting: Sitting, job_id: UUID) -> AnyResponse:
        form = Form(request.form)
        act = form.choice("act", ("went_in", "still_aboard"))
        load_id = form.identifier("load") or NOBODY
        depot_id, day = form.identifier("depot") or NOBODY, form.day("day")
        form.done()
        if act == "went_in":
            needs.decide_duplicate.went_in(sitting.caller, job_id, load_id, reason=None)
        else:
            needs.decide_duplicate.still_aboard(sitting.caller, job_id, reason=None)
        return planned_again(needs, sitting.caller, depot_id, day or date.min, at="decide")


def _place_released_to(form: Form, place: str) -> dict[str, Any]:
    """Return the changes of an entry that went to a place on record, by a vehicle."""
    kind, _, place_id = place.partition(" ")
    named = Form({"kind": kind, "id": place_id})
    changes = {
        "released_as": ReleasedAs.PLACE,
        "released_to_kind": DestinationKind(named.choice("kind", tuple(DestinationKind)) or "bed"),
        "released_to_id": named.identifier("id"),
        "released_with_id": form.identifier("vehicle"),
    }
    named.done()
    return changes


def planned_again(
    needs: Needs, caller: Caller, depot_id: UUID, day: date, *, at: str = ""
) -> AnyResponse:
    """Plan the day with what was said, and go back to where on it that was."""
    replanned(needs, caller, depot_id, day)
    return _back(depot_id, day, at=at)


def _back(depot_id: UUID, day: date, *, at: str = "") -> AnyResponse:
    anchor = f"#{at}" if at else ""
    query = Asked(depot_id=depot_id, day=day).query
    return redirect(f"/screens/day?{query}{anchor}", HTTPStatus.SEE_OTHER)

"""The gate of a compost site: what is coming, what came, and what the site says of itself today."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.callers.sessions import Seat
from service.core.errors import RecordMissing
from service.core.jobs import JobState
from service.core.loads import ENDED_STATES, OPEN_LOAD_STATES, Load, LoadState
from service.core.places import CompostSite
from service.core.records import NOBODY
from service.pages.entrance import Entrance, Sitting
from service.pages.feed_links import FEED_LASTS
from service.pages.forms import Form
from service.pages.load_words import (
    is_weighed,
    load_changes,
    reason_as_kept,
    reason_to,
    ticket_added,
)
from service.pages.needs import Needs
from service.pages.refusals import AlreadySaid, CutNotToldYet
from service.pages.rendering import page
from service.pages.replanning import replanned
from service.pages.scales import Scales
from service.pages.site_words import live_status
from service.pages.speaking import spoken, tongues
from service.pages.words import LOAD_STATES
from service.usecases.records.field.scope import NoTipThere

PLACE: Final = "/screens/gate"
LINK: Final = "/gate/<token>"
MOST_LOADS: Final = 200
OWN_WORD: Final = "the gate's own word"
HERE: Final = "here"
SAYS: Final = (HERE, "delivered", "partly_refused", "refused", "weighed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """A load for the gate: what is in it and how old, and of no customer the address."""

    load: Load
    registration: str
    at: datetime
    cut_at: datetime | None
    is_mown: bool
    here_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A site on its day."""

    site: CompostSite
    now: datetime
    coming: tuple[Coming, ...]
    ended: tuple[Coming, ...]

    @property
    def expected_kg(self) -> tuple[float, float]:
        """The sum of what is coming, at the low and at the high end [kg].

        The ends add up: the lots of a day are wet or dry together.
        """
        masses = [one.load.mass_kg for one in self.coming]
        return sum(mass.low for mass in masses), sum(mass.high for mass in masses)


def gate_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen of a gate, and what its forms post to."""
    routes = Blueprint("gate", __name__)

    def show_gate(sitting: Sitting) -> AnyResponse:
        gate, reader = gate_of(needs, sitting), spoken()
        firm = needs.keep_sessions.firm(sitting.caller.firm_id)
        shown = page(
            "gate.html.j2",
            reader=reader,
            tongues=tongues(),
            gate=gate,
            scales=Scales.of(gate.site, reader),
            place=sitting.place,
            by_link=sitting.session.by_link,
            link_until=sitting.session.link_until.astimezone(gate.now.tzinfo),
            firm=firm,
            reasons=reader.table("load_reason").values(),
            reason_to=partial(reason_to, reader),
            calendar=needs.feed_links.calendar(firm.id, "compost_site", gate.site.id, now=gate.now),
            calendar_ends=(gate.now + FEED_LASTS).date(),
        )
        return entrance.keeps_language(shown)

    def say_of_site(sitting: Sitting) -> AnyResponse:
        site = site_of(needs, sitting)
        now = needs.look_at_day.now(ZoneInfo(site.time_zone))
        status = live_status(Form(request.form, spoken()), site, now)
        needs.library.compost_sites.amend(
            sitting.caller,
            site.id,
            {"live_status": status},
            expected_version=site.version,
            reason="said by the link of the site" if sitting.session.by_link else OWN_WORD,
        )
        return _planned(needs, sitting, loads_of(needs, sitting.caller, site, now.date()))

    def say_of_load(sitting: Sitting, load_id: UUID) -> AnyResponse:
        act, seen, changes = _said(Form(request.form, spoken()))
        load = _by_now(needs, sitting.caller, load_id)
        if load.destination_id != sitting.session.compost_site_id:
            raise RecordMissing(record="load", id=load_id)
        if load.state != seen:
            act, changes = "weighed", _added(load, changes)
        if act == "weighed" and load.state not in ENDED_STATES:
            raise NoTipThere
        uncut = _uncut(needs, sitting.caller, load)
        if uncut and changes.pop("state", HERE) not in {HERE, LoadState.DELIVERED}:
            raise CutNotToldYet(lots=", ".join(uncut))
        if uncut or act == HERE:
            # The crew tells of the cut, and of the tip, once it has a signal: this is kept for it.
            changes |= {"at_gate_at": load.at_gate_at or needs.look_at_day.now(ZoneInfo("UTC"))}
        needs.update_load(sitting.caller, load.id, changes, expected_version=load.version)
        return _planned(needs, sitting, [load])

    for at, opens in ((PLACE, entrance.admits(Seat.SITE)), (LINK, entrance.opens_gate)):
        who = "link" if at == LINK else "device"
        routes.add_url_rule(at, f"show_to_{who}", opens(show_gate))
        routes.add_url_rule(at, f"say_by_{who}", opens(say_of_site), methods=["POST"])
        of_load = f"{at}/loads/<uuid:load_id>"
        routes.add_url_rule(of_load, f"say_of_load_by_{who}", opens(say_of_load), methods=["POST"])
    return routes


def _said(form: Form) -> tuple[str, str | None, dict[str, Any]]:
    """Return what a gate says of a load, what it saw of it, and the changes. Raises its faults."""
    act = form.choice("act", SAYS) or ""
    seen = form.choice("seen", tuple(LoadState))
    changes = {} if act in {"", HERE} else load_changes(form, act)
    if "refusal_reason" in changes:
        changes["refusal_reason"] = reason_as_kept(spoken(), changes["refusal_reason"])
    if act != "weighed" and (is_weighed(form) or form.flag("weigh_ticket")):
        changes |= load_changes(form, "weighed")
    form.done()
    return act, seen, changes


def _by_now(needs: Needs, caller: Caller, load_id: UUID) -> Load:
    """Return a load, or the one that was tipped in its place: its crew told of it meanwhile."""
    load: Load = needs.papers.loads.read(caller, load_id)
    since = [needs.papers.loads.read(caller, one) for one in load.successor_ids]
    there = (load.vehicle_id, load.destination_id)
    ended = [
        one
        for one in since
        if one.state in ENDED_STATES and (one.vehicle_id, one.destination_id) == there
    ]
    return ended[0] if len(ended) == 1 else load


def _added(load: Load, changes: dict[str, Any]) -> dict[str, Any]:
    """Return the ticket of what its crew told meanwhile; nothing else may be said then."""
    ticket = ticket_added(load, changes)
    if ticket is None or load.state not in ENDED_STATES:
        what = f"It is on record as {LOAD_STATES[load.state.value]}"
        raise AlreadySaid(what=what, state=load.state.value)
    return ticket


def _uncut(needs: Needs, caller: Caller, load: Load) -> list[str]:
    """Return the lots of a load that is still to come of which nobody recorded the cut."""
    if load.state not in OPEN_LOAD_STATES:
        return []
    jobs = {part.lot_code: needs.record_jobs.read(caller, part.job_id) for part in load.parts}
    return [code for code, job in jobs.items() if job.state is not JobState.MOWN]


def site_of(needs: Needs, sitting: Sitting) -> CompostSite:
    """Return whose gate it is. Raises RecordMissing."""
    site_id = sitting.session.compost_site_id or NOBODY
    site: CompostSite = needs.library.compost_sites.read(sitting.caller, site_id)
    return site


def gate_of(needs: Needs, sitting: Sitting) -> Gate:
    """Return the gate's day as it is on record."""
    site, caller = site_of(needs, sitting), sitting.caller
    now = needs.look_at_day.now(ZoneInfo(site.time_zone))
    shown = [
        _coming(needs, caller, load, now) for load in loads_of(needs, caller, site, now.date())
    ]
    shown.sort(key=lambda one: one.at)
    return Gate(
        site=site,
        now=now,
        coming=tuple(one for one in shown if one.load.state in OPEN_LOAD_STATES),
        ended=tuple(one for one in shown if one.load.state not in OPEN_LOAD_STATES),
    )


def loads_of(needs: Needs, caller: Caller, site: CompostSite, day: date) -> list[Load]:
    """Return the loads of a day that are for a site, or were."""
    wanted = {
        "destination_id": site.id,
        "working_day": day,
        "state": tuple(state for state in LoadState if state is not LoadState.SUPERSEDED),
    }
    return list(needs.papers.loads.page(caller, filters=wanted, limit=MOST_LOADS).records)


def _coming(needs: Needs, caller: Caller, load: Load, now: datetime) -> Coming:
    vehicle = needs.library.vehicles.read(caller, load.vehicle_id)
    jobs = [needs.record_jobs.read(caller, part.job_id) for part in load.parts]
    cuts = [job.cut_at for job in jobs if job.cut_at is not None]
    at = (load.done_at or load.arrive_at).astimezone(now.tzinfo)
    first = min(cuts).astimezone(now.tzinfo) if cuts else None
    return Coming(
        load=load,
        registration=vehicle.registration,
        at=at,
        cut_at=first,
        is_mown=all(job.state is JobState.MOWN for job in jobs),
        here_at=None if load.at_gate_at is None else load.at_gate_at.astimezone(now.tzinfo),
    )


def _planned(needs: Needs, sitting: Sitting, loads: Iterable[Load]) -> AnyResponse:
    for depot_id, day in sorted({(load.depot_id, load.working_day) for load in loads}):
        replanned(needs, sitting.caller, depot_id, day)
    return redirect(sitting.place, HTTPStatus.SEE_OTHER)

"""Wiring: who is handed to whom. The one module that knows everyone."""

from __future__ import annotations

import secrets
import sys
from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any, Final, TypedDict, Unpack

from flask import Flask
from sqlalchemy import Engine

from service import logs
from service.api.application import Options, UseCases, create_app
from service.api.contract.document import document_of, document_text
from service.api.exchange.handing_on import HandingOn
from service.api.failures.problems import problem_of
from service.api.metrics import count_answers, metric_routes
from service.api.work.links import NoteLinks
from service.core.records import Clock, Identifiers
from service.gateways.distances import GeodesicDistances
from service.gateways.planner_process import PlannerProcess
from service.gateways.time_and_ids import FreshIdentifiers, SystemClock
from service.pages.feed_links import FeedLinks
from service.pages.needs import Needs, Spending
from service.pages.screens import all_screens
from service.planning.model.stop_rule import StopRule
from service.rules.lookup import Rulebook
from service.settings import Settings
from service.storage.engine import hear_faults, make_engine
from service.storage.probe import Probe
from service.storage.tables.wall import gaps_in_wall
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.idempotency import AnswerOnce
from service.usecases.base.ports.travel import Distances
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.base.readiness import CheckReady
from service.usecases.base.use_cases import ToChange, ToKeep
from service.usecases.compute.desk import RulebookDesk
from service.usecases.day.today import TellToday
from service.usecases.mass_book.reading import TellMassBook
from service.usecases.mass_book.recall import TraceLots
from service.usecases.mass_book.recalls import KeepRecalls
from service.usecases.notes.issue_note import IssueNote
from service.usecases.notes.note_links import EndNoteLink
from service.usecases.notes.say_consent import SayConsent
from service.usecases.notes.show_note import ShowNote
from service.usecases.notes.versions import RenewNote
from service.usecases.planning.behind import AskPlanner
from service.usecases.planning.choose_place import ChoosePlace
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.dependencies import Stop
from service.usecases.planning.measured import TellMeasured
from service.usecases.planning.propose_orders import ProposeOrders
from service.usecases.planning.searches.keep import KeepSearches
from service.usecases.planning.store_plan import OnPlan, PlanDay
from service.usecases.planning.vehicle_today import TellVehicleToday
from service.usecases.planning.what_if import WhatIf
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.records.callers.api_keys import FindCaller, KeepKeys
from service.usecases.records.callers.join_tokens import JoinTokens
from service.usecases.records.callers.sessions import KeepSessions
from service.usecases.records.clients.erase import EraseClient
from service.usecases.records.clients.export import TellPersonalData
from service.usecases.records.field.behind import BehindReports
from service.usecases.records.field.decide import DecideDuplicate
from service.usecases.records.field.hand_over import HandOver
from service.usecases.records.field.reports import TakeReports
from service.usecases.records.follow_places import FollowPlaces
from service.usecases.records.further_faults import FindFurtherFaults
from service.usecases.records.held.measure import MeasureHeap
from service.usecases.records.held.release_part import ReleasePart
from service.usecases.records.keep_together import KeepTogether
from service.usecases.records.loads.record_tip import RecordTip
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs
from service.usecases.records.record_kinds import keep_library, keep_papers
from service.usecases.records.refresh_lots import RefreshLots
from service.usecases.records.update_hold import UpdateHold
from service.usecases.telling.before_mowing.pre_mow_check import PreMowCheck
from service.usecases.telling.changes.plan_changes import TellPlanChanges
from service.usecases.telling.day_look import LookAtDay
from service.usecases.telling.decisions.listing import TellDecisions
from service.usecases.telling.evening.bed_years import TellBedYears
from service.usecases.telling.evening.closing import CloseDay, TellEvening
from service.usecases.telling.evening.periods import TellTotals
from service.usecases.telling.held.queue import TellHoldQueue
from service.usecases.telling.reasons.estimates import TellWhy
from service.usecases.telling.reasons.verdicts import TellVerdicts
from service.usecases.telling.stops import TellStops
from service.usecases.telling.warnings.out_then import TellOutThen
from service.usecases.telling.warnings.tips import TellTipped
from service.usecases.telling.whole_books import ReadWholeBooks

# The contract is made from the routes alone: nothing is opened under these settings.
_PAPER_SETTINGS: Final = Settings(database_url="sqlite://", signing_key="no link is signed" * 2)


def build_app(settings: Settings, *, planner: Path | None = None, is_asked: bool = True) -> Flask:
    """Return the application.

    Parameters
    ----------
    planner
        The socket of a planner; without one it plans while callers wait.
    is_asked
        Whether callers ask it; what is handed on to a planner was counted where it was asked.
    """
    engine = make_engine(settings.database_url)
    use_cases = build_use_cases(
        settings,
        on_plan=measured_plans(settings, engine),
        writing=unit_of_work_opener(engine),
        reading=reading_opener(engine),
        clock=SystemClock(),
        identifiers=FreshIdentifiers(),
        behind=planner is not None,
    )
    check_ready = CheckReady(open_unit_of_work=reading_opener(engine), probe=Probe(engine))
    app = make_app(settings, replace(use_cases, check_ready=check_ready))
    if settings.metrics_key is not None and is_asked:
        _measure(app, settings.metrics_key, engine)
    if planner is not None:
        HandingOn(PlannerProcess(planner)).of(app)
    return app


def measured_plans(settings: Settings, engine: Engine) -> OnPlan | None:
    """Count faults of the database, and return what counts plans; None where nobody watches."""
    if settings.metrics_key is None:
        return None
    from service.gateways import measures  # noqa: PLC0415 - it counts from when it is imported

    hear_faults(engine, measures.database_failed)
    return measures.plan_stored


def _measure(app: Flask, key: str, engine: Engine) -> None:
    from service.gateways import measures  # noqa: PLC0415 - see above

    tell = TellMeasured(
        open_reading=reading_opener(engine),
        clock=SystemClock(),
        wall_gaps=partial(gaps_in_wall, engine),
    )
    count_answers(app, measures.request_answered)
    page = partial(measures.page_of, tell)
    app.register_blueprint(metric_routes(app, page, key=key, form=measures.FORM))


def make_app(settings: Settings, use_cases: UseCases) -> Flask:
    """Return the application over its use cases: the HTTP interface, and the screens beside it."""
    app = create_app(options_of(settings), use_cases, prepare=logs.log_requests)
    spending = app.extensions["budgets"].spending
    for screens in all_screens(needs_of(settings, use_cases, spending=spending)):
        app.register_blueprint(screens)
    return app


def needs_of(settings: Settings, use_cases: UseCases, *, spending: Spending) -> Needs:
    """Return what the screens are handed."""
    links = NoteLinks(public_url=settings.public_url, **settings.signing)
    shared = {field.name for field in fields(Needs)} & {field.name for field in fields(UseCases)}
    return Needs(
        public_url=settings.public_url,
        problem_of=problem_of,
        note_link=links.page,
        new_key=secrets.token_urlsafe,
        spending=spending,
        feed_links=FeedLinks(public_url=settings.public_url, **settings.signing),
        **{name: getattr(use_cases, name) for name in shared},
    )


def build_app_from_env(
    environment: Mapping[str, str], *, planner: Path | None = None, is_asked: bool = True
) -> Flask:
    """Return the application that the environment describes, its logs configured.

    Raises
    ------
    SettingsRefused
    """
    settings = Settings.from_env(environment)
    logs.configure(level=settings.log_level, log_format=settings.log_format)
    return build_app(settings, planner=planner, is_asked=is_asked)


def build_use_cases(
    settings: Settings,
    *,
    writing: OpenUnitOfWork,
    reading: OpenUnitOfWork,
    clock: Clock,
    identifiers: Identifiers,
    stop: Stop | None = None,
    behind: bool = False,
    on_plan: OnPlan | None = None,
) -> UseCases:
    """Return the use cases over kept records.

    Parameters
    ----------
    settings
        The operator's decisions.
    writing, reading
        Ways to open a unit of work; what is opened for reading writes nothing.
    clock, identifiers
        Handed in, so that a day can be replayed.
    stop, behind, on_plan
        When the planner is content (None: by the settings); leave days to its own process; who
        hears of each plan that is stored.
    """
    rulebook = Rulebook.load()
    changing = ToChange(open_unit_of_work=writing, clock=clock, identifiers=identifiers)
    keeping = ToKeep(**changing, open_reading=reading)
    distances = distances_by(rulebook, day=clock.now().date())
    stop = stop or StopRule(seconds=settings.plan_seconds)
    planning = PlansBy(
        clock=clock, identifiers=identifiers, rulebook=rulebook, distances=distances, stop=stop
    )
    renew_note = RenewNote(clock=clock, identifiers=identifiers, rulebook=rulebook)
    plan_day = PlanDay(
        **planning,
        open_unit_of_work=writing,
        open_reading=reading,
        renew_note=renew_note,
        on_plan=on_plan,
    )
    ask = AskPlanner(open_unit_of_work=writing, open_reading=reading, clock=clock)
    make = ask if behind else plan_day
    read_routing = ReadRouting(open_reading=reading, clock=clock, plan_day=make)
    record_jobs = RecordJobs(
        **keeping,
        rulebook=rulebook,
        clock_tolerance=timedelta(seconds=settings.clock_tolerance_seconds),
        renew_note=renew_note,
    )
    answer_once = AnswerOnce(**changing)
    follow_places = FollowPlaces(clock=clock, identifiers=identifiers)
    library = keep_library(
        **keeping,
        after_change=follow_places,
        after_treatment=RefreshLots(
            clock=clock, identifiers=identifiers, rulebook=rulebook, renew_note=renew_note
        ),
    )
    record_tip = RecordTip(**changing, rulebook=rulebook, renew_note=renew_note)
    update_load = UpdateLoad(**changing, rulebook=rulebook, renew_note=renew_note)
    tell_tipped = TellTipped(open_reading=reading, clock=clock, rulebook=rulebook)
    trace_lots = TraceLots(open_reading=reading, clock=clock, rulebook=rulebook)
    look_at_day = LookAtDay(open_reading=reading, clock=clock)
    tell_decisions = TellDecisions(open_reading=reading, clock=clock, rulebook=rulebook)
    tell_evening = TellEvening(
        open_reading=reading, look_at_day=look_at_day, tell_decisions=tell_decisions
    )
    return UseCases(
        answer_once=answer_once,
        close_day=CloseDay(**keeping, tell_evening=tell_evening),
        choose_place=ChoosePlace(open_unit_of_work=writing, **planning),
        check_ready=CheckReady(open_unit_of_work=reading),
        decide_duplicate=DecideDuplicate(
            jobs=record_jobs,
            update_load=update_load,
            record_tip=record_tip,
            open_reading=reading,
            clock=clock,
        ),
        desk=RulebookDesk(rulebook=rulebook, clock=clock),
        end_note_link=EndNoteLink(**changing),
        hand_over=HandOver(jobs=record_jobs, open_reading=reading, clock=clock),
        erase_client=EraseClient(**keeping),
        find_caller=FindCaller(open_unit_of_work=reading, open_writing=writing, clock=clock),
        find_further_faults=FindFurtherFaults(
            open_unit_of_work=reading,
            clock=clock,
            clock_tolerance=timedelta(seconds=settings.clock_tolerance_seconds),
        ),
        issue_note=IssueNote(**changing, rulebook=rulebook, renew_note=renew_note),
        keep_keys=KeepKeys(**keeping, make_secret=secrets.token_urlsafe),
        keep_searches=KeepSearches(**keeping, is_searched=behind),
        keep_sessions=sessions_of(settings, **keeping),
        keep_together=KeepTogether(**changing, after_change=follow_places),
        library=library,
        look_at_day=look_at_day,
        measure_heap=MeasureHeap(**changing),
        papers=keep_papers(**keeping),
        plan_day=plan_day,
        pre_mow_check=PreMowCheck(
            open_unit_of_work=reading, clock=clock, rulebook=rulebook, distances=distances
        ),
        propose_orders=ProposeOrders(open_unit_of_work=reading, **planning),
        read_routing=read_routing,
        read_whole_books=ReadWholeBooks(open_reading=reading),
        record_jobs=record_jobs,
        say_consent=SayConsent(**changing),
        show_note=ShowNote(open_unit_of_work=reading, clock=clock),
        tell_bed_years=TellBedYears(open_reading=reading, clock=clock, rulebook=rulebook),
        take_reports=TakeReports(
            behind=BehindReports(
                **changing,
                rulebook=rulebook,
                clock_tolerance=timedelta(seconds=settings.clock_tolerance_seconds),
                renew_note=renew_note,
                vehicle_outages=library.vehicle_outages.shelf,
                tell_tipped_by=lambda seen: replace(tell_tipped, open_reading=seen),
            ),
            open_reading=reading,
            answer_once=answer_once,
            clock=clock,
            tolerance=timedelta(seconds=settings.clock_tolerance_seconds),
        ),
        tell_decisions=tell_decisions,
        tell_evening=tell_evening,
        tell_hold_queue=TellHoldQueue(open_reading=reading, clock=clock, rulebook=rulebook),
        tell_mass_book=TellMassBook(open_reading=reading),
        tell_personal_data=TellPersonalData(open_reading=reading, clock=clock),
        tell_today=TellToday(open_unit_of_work=reading, clock=clock),
        tell_out_then=TellOutThen(open_reading=reading, clock=clock),
        tell_tipped=tell_tipped,
        tell_totals=TellTotals(open_reading=reading, rulebook=rulebook, distances=distances),
        tell_vehicle_today=TellVehicleToday(
            open_reading=reading, clock=clock, read_routing=read_routing, rulebook=rulebook
        ),
        tell_verdicts=TellVerdicts(open_unit_of_work=reading, clock=clock, rulebook=rulebook),
        tell_what_would_change=TellWhatWouldChange(
            open_unit_of_work=reading, read_routing=read_routing, **planning
        ),
        tell_why=TellWhy(open_unit_of_work=reading, clock=clock, rulebook=rulebook),
        update_hold=UpdateHold(**changing, rulebook=rulebook),
        release_part=ReleasePart(**changing, rulebook=rulebook),
        tell_stops=TellStops(open_reading=reading, clock=clock),
        keep_recalls=KeepRecalls(**keeping, trace_lots=trace_lots, renew_note=renew_note),
        trace_lots=trace_lots,
        tell_plan_changes=TellPlanChanges(open_reading=reading),
        record_tip=record_tip,
        update_load=update_load,
        what_if=WhatIf(open_unit_of_work=reading, **planning),
    )


class PlansBy(TypedDict):
    """What every use case needs that plans days, beside the records."""

    clock: Clock
    identifiers: Identifiers
    rulebook: Rulebook
    distances: Distances
    stop: Stop


def distances_by(rulebook: Rulebook, *, day: date) -> Distances:
    """Return distances as the crow flies times a detour, by the rules of a day."""
    detour = rulebook.value_on("road_detour_factor", day)
    speed = rulebook.value_on("road_speed_km_per_h", day)
    return GeodesicDistances(
        detour_factor=detour.estimate.likely,
        speed_km_per_h=speed.estimate.likely,
        sources=tuple(sorted({*detour.estimate.sources, *speed.estimate.sources})),
    )


def sessions_of(settings: Settings, **keeping: Unpack[ToKeep]) -> KeepSessions:
    """Return the use case of people's sessions, whose links the settings sign."""
    return KeepSessions(
        **keeping,
        make_secret=secrets.token_urlsafe,
        tokens=JoinTokens(**settings.signing),
    )


def options_of(settings: Settings) -> Options:
    """Return what the settings say about HTTP."""
    return Options(
        public_url=settings.public_url,
        **settings.signing,
        max_body_bytes=settings.max_body_bytes,
        requests_per_minute=settings.requests_per_minute,
        computation_seconds_per_minute=settings.computation_seconds_per_minute,
    )


def openapi_document() -> dict[str, Any]:
    """Return the contract, as it is committed under openapi/."""
    return document_of(build_app(_PAPER_SETTINGS))


if __name__ == "__main__":
    sys.stdout.write(document_text(openapi_document()))

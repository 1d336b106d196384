"""The application: an app is made of what it is handed, and of nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Final

from flask import Flask, Response, g

from service.api.books import catalogue
from service.api.contract.document import add_contract, document_routes
from service.api.contract.manuals import manual_routes
from service.api.desk.computations import computation_routes
from service.api.desk.order_proposals import order_routes
from service.api.desk.reasons import reason_routes
from service.api.desk.rules import rule_routes
from service.api.exchange.budgets import Budgets
from service.api.exchange.compression import pack
from service.api.exchange.door import Door
from service.api.exchange.json_form import PlainJson
from service.api.exchange.routes import Routes
from service.api.failures.problem_pages import problem_routes
from service.api.health import health_routes
from service.api.keys import key_routes
from service.api.persons import person_routes
from service.api.recall.recalls import kept_recall_routes
from service.api.recall.routes import recall_routes
from service.api.records.book_routes import book_routes
from service.api.sessions import session_routes
from service.api.work.days.closings import closing_routes
from service.api.work.days.decisions import decision_routes
from service.api.work.days.plans import plan_routes
from service.api.work.days.routings import routing_routes
from service.api.work.days.searches import Later, search_routes
from service.api.work.days.stops import stop_routes
from service.api.work.days.streams import stream_routes
from service.api.work.days.supposing import supposing_routes
from service.api.work.jobs.jobs import job_routes
from service.api.work.jobs.pre_mow import pre_mow_routes
from service.api.work.links import NoteLinks
from service.api.work.loads.choices import choice_routes
from service.api.work.loads.hold_queue import hold_queue_routes
from service.api.work.loads.holds import hold_routes
from service.api.work.loads.loads import load_routes
from service.api.work.mass_book import mass_book_routes
from service.api.work.notes.note_pages import page_routes
from service.api.work.notes.notes import note_routes
from service.api.work.reports import report_routes
from service.api.work.vehicle_today import vehicle_today_routes
from service.usecases.base.idempotency import AnswerOnce
from service.usecases.base.readiness import CheckReady
from service.usecases.compute.desk import RulebookDesk
from service.usecases.day.today import TellToday
from service.usecases.mass_book.reading import TellMassBook
from service.usecases.mass_book.recall import TraceLots
from service.usecases.mass_book.recalls import KeepRecalls
from service.usecases.notes.issue_note import IssueNote
from service.usecases.notes.note_links import EndNoteLink
from service.usecases.notes.say_consent import SayConsent
from service.usecases.notes.show_note import ShowNote
from service.usecases.planning.choose_place import ChoosePlace
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.propose_orders import ProposeOrders
from service.usecases.planning.searches.keep import KeepSearches
from service.usecases.planning.store_plan import PlanDay
from service.usecases.planning.vehicle_today import TellVehicleToday
from service.usecases.planning.what_if import WhatIf
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.records.callers.api_keys import FindCaller, KeepKeys
from service.usecases.records.callers.sessions import KeepSessions
from service.usecases.records.clients.erase import EraseClient
from service.usecases.records.clients.export import TellPersonalData
from service.usecases.records.field.decide import DecideDuplicate
from service.usecases.records.field.hand_over import HandOver
from service.usecases.records.field.reports import TakeReports
from service.usecases.records.field.scope import TellTipped
from service.usecases.records.further_faults import FindFurtherFaults
from service.usecases.records.held.measure import MeasureHeap
from service.usecases.records.held.release_part import ReleasePart
from service.usecases.records.keep_together import KeepTogether
from service.usecases.records.loads.record_tip import RecordTip
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.record_jobs import RecordJobs
from service.usecases.records.record_kinds import Library, Papers
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
from service.usecases.telling.whole_books import ReadWholeBooks

QUIET: Final = {
    "Cache-Control": "private, no-cache",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What the operator decides about HTTP.

    Attributes
    ----------
    public_url
        Base of the links in notes, without a slash at its end.
    signing_key, former_keys
        Secret behind signed links; those before it, which still verify.
    max_body_bytes
        Longest body that is read [byte].
    requests_per_minute, computation_seconds_per_minute
        What a key may ask of one process in a minute, and cost it of a processor [s].
    """

    public_url: str
    signing_key: str = field(repr=False)
    former_keys: tuple[str, ...] = field(repr=False, default=())
    max_body_bytes: int
    requests_per_minute: int
    computation_seconds_per_minute: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UseCases:
    """Everything the routes ask, and the screens beside them."""

    answer_once: AnswerOnce
    check_ready: CheckReady
    choose_place: ChoosePlace
    close_day: CloseDay
    decide_duplicate: DecideDuplicate
    desk: RulebookDesk
    end_note_link: EndNoteLink
    erase_client: EraseClient
    find_caller: FindCaller
    hand_over: HandOver
    find_further_faults: FindFurtherFaults
    issue_note: IssueNote
    keep_recalls: KeepRecalls
    keep_keys: KeepKeys
    keep_searches: KeepSearches
    keep_sessions: KeepSessions
    keep_together: KeepTogether
    library: Library
    measure_heap: MeasureHeap
    look_at_day: LookAtDay
    papers: Papers
    plan_day: PlanDay
    pre_mow_check: PreMowCheck
    propose_orders: ProposeOrders
    read_routing: ReadRouting
    read_whole_books: ReadWholeBooks
    record_jobs: RecordJobs
    say_consent: SayConsent
    show_note: ShowNote
    take_reports: TakeReports
    tell_decisions: TellDecisions
    tell_evening: TellEvening
    tell_hold_queue: TellHoldQueue
    tell_mass_book: TellMassBook
    tell_personal_data: TellPersonalData
    tell_today: TellToday
    tell_bed_years: TellBedYears
    tell_totals: TellTotals
    tell_vehicle_today: TellVehicleToday
    tell_verdicts: TellVerdicts
    tell_what_would_change: TellWhatWouldChange
    tell_why: TellWhy
    update_hold: UpdateHold
    release_part: ReleasePart
    tell_plan_changes: TellPlanChanges
    tell_stops: TellStops
    trace_lots: TraceLots
    update_load: UpdateLoad
    record_tip: RecordTip
    tell_out_then: TellOutThen
    tell_tipped: TellTipped
    what_if: WhatIf


def create_app(options: Options, use_cases: UseCases, *, prepare: Callable[[Flask], None]) -> Flask:
    """Return the application.

    Parameters
    ----------
    options
        What the operator decides.
    use_cases
        Everything the routes ask.
    prepare
        Called with the bare app before any other hook is set; it must put the id of each
        request into ``g.request_id``.
    """
    app = Flask("service.api", static_folder=None)
    app.json = PlainJson(app)
    app.config.update(MAX_CONTENT_LENGTH=options.max_body_bytes, PROPAGATE_EXCEPTIONS=False)
    prepare(app)
    app.after_request(pack)
    app.after_request(_quiet_headers)
    contract = add_contract(app)
    budgets = Budgets(
        requests=options.requests_per_minute, computation_s=options.computation_seconds_per_minute
    )
    app.extensions["budgets"] = budgets
    app.after_request(partial(_told_budget, budgets))
    door = Door(
        find_caller=use_cases.find_caller, answer_once=use_cases.answer_once, budgets=budgets
    )
    app.extensions["written_answers"] = door.written
    links = NoteLinks(
        public_url=options.public_url,
        signing_key=options.signing_key,
        former_keys=options.former_keys,
    )
    for routes in all_routes(use_cases, door=door, links=links):
        contract.register_blueprint(routes)
    app.register_blueprint(document_routes(app))
    app.register_blueprint(manual_routes())
    app.register_blueprint(problem_routes())
    return app


def all_routes(use_cases: UseCases, *, door: Door, links: NoteLinks) -> Iterator[Routes]:
    """Return every group of operations, in the order of the contract."""
    find = use_cases.find_further_faults
    later = Later.over(use_cases.keep_searches)
    for resource, books in catalogue(use_cases.library):
        yield book_routes(resource, books, door, find=find)
    yield person_routes(use_cases.tell_personal_data, use_cases.erase_client, door)
    yield pre_mow_routes(use_cases.pre_mow_check, door)
    yield job_routes(
        use_cases.record_jobs,
        use_cases.decide_duplicate,
        use_cases.hand_over,
        use_cases.tell_out_then,
        door,
        find=find,
    )
    yield report_routes(use_cases.take_reports, door)
    yield reason_routes(
        use_cases.tell_why, use_cases.tell_verdicts, use_cases.tell_what_would_change, door
    )
    yield plan_routes(use_cases.papers, use_cases.plan_day, door, later=later)
    yield search_routes(use_cases.keep_searches, door)
    yield routing_routes(
        use_cases.read_routing, use_cases.tell_today, use_cases.tell_what_would_change, door
    )
    yield stream_routes(use_cases.look_at_day, use_cases.tell_today, door)
    yield decision_routes(
        use_cases.read_routing, use_cases.tell_today, use_cases.tell_decisions, door
    )
    yield closing_routes(use_cases.close_day, use_cases.tell_totals, use_cases.tell_today, door)
    yield stop_routes(use_cases.tell_stops, door)
    yield vehicle_today_routes(use_cases.tell_vehicle_today, door, links=links)
    yield supposing_routes(use_cases.what_if, use_cases.tell_plan_changes, door, later=later)
    yield order_routes(use_cases.propose_orders, door, later=later)
    yield load_routes(
        use_cases.papers, use_cases.update_load, use_cases.record_tip, use_cases.tell_tipped, door
    )
    yield choice_routes(use_cases.choose_place, door)
    yield hold_routes(use_cases.papers, use_cases.update_hold, use_cases.release_part, door)
    yield hold_queue_routes(use_cases.tell_hold_queue, use_cases.measure_heap, door)
    yield recall_routes(use_cases.trace_lots, door)
    yield kept_recall_routes(use_cases.keep_recalls, door)
    yield note_routes(
        use_cases.papers,
        issue_note=use_cases.issue_note,
        show_note=use_cases.show_note,
        end_note_link=use_cases.end_note_link,
        links=links,
        door=door,
    )
    yield mass_book_routes(use_cases.papers, use_cases.tell_mass_book, use_cases.tell_today, door)
    yield page_routes(
        issue_note=use_cases.issue_note,
        say_consent=use_cases.say_consent,
        show_note=use_cases.show_note,
        links=links,
    )
    yield session_routes(use_cases.keep_sessions, door, public_url=links.public_url)
    yield key_routes(use_cases.keep_keys, door)
    yield computation_routes(use_cases.desk, door)
    yield rule_routes(use_cases.desk, door)
    yield health_routes(use_cases.check_ready)


def _told_budget(budgets: Budgets, response: Response) -> Response:
    """Tell a caller with a key what is left of its budget."""
    left = g.get("budget_left")
    if left is not None:
        response.headers["RateLimit-Policy"] = budgets.policy()
        response.headers["RateLimit"] = budgets.told(left)
    return response


def _quiet_headers(response: Response) -> Response:
    for name, value in QUIET.items():
        response.headers.setdefault(name, value)
    return response

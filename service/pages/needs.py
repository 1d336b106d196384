"""What the screens are handed: use cases, where they are served, words of other rooms."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import Refusal
from service.pages.feed_links import FeedLinks
from service.usecases.base.idempotency import AnswerOnce
from service.usecases.mass_book.reading import TellMassBook
from service.usecases.mass_book.recall import TraceLots
from service.usecases.mass_book.recalls import KeepRecalls
from service.usecases.notes.issue_note import IssueNote
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.propose_orders import ProposeOrders
from service.usecases.planning.store_plan import PlanDay
from service.usecases.planning.what_if import WhatIf
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.records.callers.api_keys import KeepKeys
from service.usecases.records.callers.sessions import KeepSessions
from service.usecases.records.clients.erase import EraseClient
from service.usecases.records.clients.export import TellPersonalData
from service.usecases.records.field.decide import DecideDuplicate
from service.usecases.records.field.reports import TakeReports
from service.usecases.records.held.release_part import ReleasePart
from service.usecases.records.keep_together import KeepTogether
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
from service.usecases.telling.whole_books import ReadWholeBooks

Spending = Callable[[Caller], AbstractContextManager[None]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """Everything the screens ask.

    Attributes
    ----------
    public_url
        Where people reach the service, without a slash at its end.
    problem_of
        Tells a refusal as problem details, as the HTTP interface does.
    note_link
        Returns the signed address of a note's page.
    feed_links
        Makes and checks the addresses of calendars.
    spending
        Counts a request and what it costs against the budget of who asks; raises when it is spent.
    new_key
        Returns a fresh idempotency key, for a form that has no script.
    """

    public_url: str
    problem_of: Callable[[Refusal], Mapping[str, Any]]
    note_link: Callable[[UUID], str]
    new_key: Callable[[], str]
    spending: Spending
    feed_links: FeedLinks
    answer_once: AnswerOnce
    close_day: CloseDay
    decide_duplicate: DecideDuplicate
    erase_client: EraseClient
    issue_note: IssueNote
    keep_sessions: KeepSessions
    keep_together: KeepTogether
    library: Library
    keep_keys: KeepKeys
    keep_recalls: KeepRecalls
    look_at_day: LookAtDay
    papers: Papers
    plan_day: PlanDay
    pre_mow_check: PreMowCheck
    propose_orders: ProposeOrders
    read_routing: ReadRouting
    record_jobs: RecordJobs
    take_reports: TakeReports
    read_whole_books: ReadWholeBooks
    tell_decisions: TellDecisions
    tell_evening: TellEvening
    tell_mass_book: TellMassBook
    tell_personal_data: TellPersonalData
    tell_bed_years: TellBedYears
    tell_hold_queue: TellHoldQueue
    tell_plan_changes: TellPlanChanges
    tell_totals: TellTotals
    tell_what_would_change: TellWhatWouldChange
    trace_lots: TraceLots
    release_part: ReleasePart
    update_hold: UpdateHold
    update_load: UpdateLoad
    what_if: WhatIf

"""One request for what happened: mixed reports of one device, in the order in which it happened."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime, timedelta
from types import SimpleNamespace
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable, Refusal, VersionOvertaken
from service.core.records import Clock
from service.core.reports import Done, Report, ReportKind
from service.usecases.base.idempotency import (
    Answer,
    AnswerOnce,
    FirstTryUnfinished,
    KeyReusedForAnotherRequest,
    SeededIdentifiers,
)
from service.usecases.base.ports.transaction import Joined
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.records.field.behind import BehindReports
from service.usecases.records.field.cuts import keep_cut
from service.usecases.records.field.faults import UnreadableReport, report_faults
from service.usecases.records.field.in_order import in_order
from service.usecases.records.field.loads import keep_load, keep_weight
from service.usecases.records.field.scope import Behind, Handler
from service.usecases.records.field.undo import TAKEN_BACK_ALREADY, keep_undo, key_of
from service.usecases.records.field.unkept import TICKET
from service.usecases.records.field.vehicles import keep_back, keep_given, keep_loaded, keep_out

HANDLERS: Final[Mapping[ReportKind, Handler]] = {
    ReportKind.MOWN: keep_cut,
    ReportKind.LEFT: keep_cut,
    ReportKind.SET_OFF: keep_load,
    ReportKind.TIPPED: keep_load,
    ReportKind.REFUSED: keep_load,
    ReportKind.PART_TAKEN: keep_load,
    ReportKind.WEIGHED: keep_weight,
    ReportKind.LOADED: keep_loaded,
    ReportKind.GIVEN: keep_given,
    ReportKind.VEHICLE_OUT: keep_out,
    ReportKind.VEHICLE_BACK: keep_back,
    ReportKind.UNDO: keep_undo,
}
TIPS: Final = frozenset({ReportKind.TIPPED, ReportKind.PART_TAKEN})
MINUTES_AN_HOUR: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceClock:
    """How far a device's clock is from the service's, by the time at which it says it sent.

    A whole minute or more beyond the tolerance is corrected: its times are counted as ours.
    """

    ahead: timedelta
    tolerance: timedelta

    @property
    def correction(self) -> timedelta:
        """What is added to a time of the device."""
        return timedelta() if abs(self.ahead) <= self.tolerance else -self.ahead

    @property
    def sentence(self) -> str | None:
        """Say what is wrong with the clock, and what was done about it; None if nothing is."""
        if not self.correction:
            return None
        minutes = round(abs(self.ahead) / timedelta(minutes=1))
        hours, rest = divmod(minutes, MINUTES_AN_HOUR)
        parts = [f"{hours} h"] * bool(hours) + [f"{rest} min"] * bool(rest)
        apart = " ".join(parts)
        wrong, way = ("ahead", "earlier") if self.ahead > timedelta() else ("behind", "later")
        return (
            f"The clock of this device is {apart} {wrong}. What it reports was counted {apart} "
            f"{way}; set its clock."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportAnswer:
    """What became of one report: what was done, or the refusal that says why not.

    ``at`` is when it happened by the service's clock.
    """

    index: int
    report_id: UUID | None
    at: datetime | None = None
    done: Done | None = None
    refusal: Refusal | None = None


class TakeReports:
    """Keep what a device reports: each once, however often and in whatever order it is sent."""

    def __init__(
        self,
        *,
        behind: BehindReports,
        open_reading: OpenUnitOfWork,
        answer_once: AnswerOnce,
        clock: Clock,
        tolerance: timedelta,
    ) -> None:
        """Take the use cases behind it; a clock further off than the tolerance is corrected."""
        self._behind = behind
        self._unkept_tips = behind.unkept_tips
        self._open_reading = open_reading
        self._answer_once = answer_once
        self._clock = clock
        self._tolerance = tolerance

    def clock_of(self, sent_at: datetime) -> DeviceClock:
        """Return how far the clock is off of a device that says it sends now."""
        ahead = sent_at - self._clock.now()
        # To the second: a try and its retry are moved alike.
        return DeviceClock(
            ahead=timedelta(seconds=round(ahead / timedelta(seconds=1))), tolerance=self._tolerance
        )

    def __call__(
        self,
        caller: Caller,
        reports: Sequence[Report | UnreadableReport],
        *,
        clock: DeviceClock,
    ) -> list[ReportAnswer]:
        """Keep the good reports in the order in which they happened; each gets its own answer."""
        answers = []
        latest = self._clock.now() + self._tolerance
        good: list[tuple[datetime, int, Report]] = []
        for index, told in enumerate(reports):
            if isinstance(told, Report):
                good.append((told.at + clock.correction, index, told))
            else:
                faults = self._faults(caller, told, latest - clock.correction)
                refusal = RecordNotUsable(faults)
                answers.append(ReportAnswer(index=index, report_id=told.id, refusal=refusal))
                self._remember_unread(caller, told, clock.correction, refusal)
        answers += [
            self._kept(caller, index, told, at)
            for at, index, told in in_order(self._open_reading, caller, good)
        ]
        return answers

    def one(self, caller: Caller, report: Report) -> Done:
        """Keep one report, by our clock, and say what became of it. Raises whatever refuses it."""
        answer = self._kept(caller, 0, report, report.at)
        if answer.done is None:
            raise answer.refusal or RecordNotUsable([])
        return answer.done

    def _kept(self, caller: Caller, index: int, told: Report, at: datetime) -> ReportAnswer:
        answer = ReportAnswer(index=index, report_id=told.id, at=at)
        try:
            latest = self._clock.now() + self._tolerance
            faults = self._faults(caller, replace(told, at=at), latest)
            # What was kept while the device's clock was wrong is kept also when that is mended.
            kept = self._known(caller, told) if faults else self._tried(caller, told, at)
            if kept is None:
                raise RecordNotUsable(faults)
        except Refusal as refused:
            refusal = refused
            if isinstance(refused, KeyReusedForAnotherRequest):
                refusal = KeyReusedForAnotherRequest(what=f"The id {told.id} of this report")
            # Of a try beside another the other says what became of it.
            if told.kind in TIPS and not isinstance(refusal, FirstTryUnfinished):
                self._unkept_tips.add(caller, told, at, refusal)
            return replace(answer, refusal=refusal)
        return replace(answer, at=_kept_at(kept.body) or at, done=_read(kept.body))

    def _faults(
        self, caller: Caller, told: Report | UnreadableReport, latest: datetime
    ) -> list[FieldFault]:
        return report_faults(self._open_reading, caller, told, latest)

    def _remember_unread(
        self, caller: Caller, told: UnreadableReport, correction: timedelta, refusal: Refusal
    ) -> None:
        """Remember a tip that cannot be read, as far as it can; nothing of another report."""
        said = told.usable
        if said.get("kind") in TIPS and isinstance(at := said.get("at"), datetime):
            names = ("load_id", "destination_id", "vehicle_id", "crew_id", *TICKET)
            tip = SimpleNamespace(id=told.id, **{name: said.get(name) for name in names})
            self._unkept_tips.add(caller, tip, at + correction, refusal)

    def _tried(self, caller: Caller, told: Report, at: datetime) -> Answer:
        """Keep a report, once more if somebody else wrote the same record meanwhile."""
        try:
            return self._once(caller, told, at)
        except VersionOvertaken:
            return self._once(caller, told, at)

    def _known(self, caller: Caller, told: Report) -> Answer | None:
        """Return what was answered to a report before, if it was kept as it is sent now."""
        return self._answer_once.known(caller, key=key_of(told.id), request=_written(told))

    def _once(self, caller: Caller, told: Report, at: datetime) -> Answer:
        """Keep a report with its answer in one transaction, or return the answer that is kept."""
        afterwards: list[Callable[[], None]] = []

        def make(unit: UnitOfWork) -> Answer:
            behind = self._behind(Joined(unit, afterwards))
            return self._made(unit, behind, caller, replace(told, at=at))

        answer = self._answer_once.together(
            caller, key=key_of(told.id), request=_written(told), make_answer=make
        )
        for work in afterwards:
            work()
        if answer.replayed and told.kind in TIPS:
            # A try in between may have been turned away while it was kept by the first.
            self._unkept_tips.drop(caller, told.id)
        return answer

    def _made(self, unit: UnitOfWork, behind: Behind, caller: Caller, report: Report) -> Answer:
        def handled() -> Answer:
            # Every try makes the same ids: a retry finds its own records, however late it comes.
            ids = SeededIdentifiers(report.id)
            done = HANDLERS[report.kind](behind, caller, report, ids)
            return _written_answer(done, report)

        if report.kind in TIPS:
            behind.unkept_tips.drop(caller, report.id)
        if report.kind is not ReportKind.UNDO or report.undoes is None:
            return handled()
        # A report is taken back once, under however many ids that is said.
        answer = self._answer_once.within(
            unit,
            caller,
            key=f"undo of {key_of(report.undoes)}",
            request=b"",
            make_answer=handled,
        )
        if not answer.replayed:
            return answer
        return _written_answer(Done(sentence=TAKEN_BACK_ALREADY, again=True), report)


def _written_answer(done: Done, report: Report) -> Answer:
    kept = {**asdict(done), "kind": report.kind.value, "at": report.at.isoformat()}
    body = json.dumps(kept, default=str)
    return Answer(status=200, headers={}, body=body.encode())


def _written(report: Report) -> bytes:
    """Return what a report says, for comparing tries: what it leaves out stays out as it grows."""
    said = {
        field.name: repr(value)
        for field in fields(report)
        if (value := getattr(report, field.name)) not in (None, ())
    }
    return json.dumps(said, sort_keys=True).encode()


def _kept_at(body: bytes) -> datetime | None:
    """Return the hour at which a report is on record; older answers have none."""
    at = json.loads(body).get("at")
    return None if at is None else datetime.fromisoformat(at)


def _read(body: bytes) -> Done:
    told = json.loads(body)
    names = ("job_id", "load_id", "vehicle_outage_id")
    ids = {name: None if told[name] is None else UUID(told[name]) for name in names}
    return Done(
        sentence=told["sentence"],
        before=told["before"],
        hold_entry_ids=tuple(told.get("hold_entry_ids", ())),  # older answers have none
        again=told["again"],
        warnings=tuple(told.get("warnings", ())),
        **ids,
    )

"""What a crew reports: kept by the same use case as the HTTP interface, for its own round only."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.loads import Load, LoadState
from service.core.materials import ClippingsHandling, TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.records import NOBODY
from service.core.reports import Report, ReportedPart, ReportKind
from service.pages.forms import Form
from service.pages.load_words import HEAVIEST_KG, load_changes, ticket_added
from service.pages.needs import Needs
from service.pages.refusals import AlreadySaid
from service.pages.round.view import NOT_SPRAYED, Scope
from service.pages.words import LOAD_STATES
from service.usecases.records.field.cuts import is_said_of

MOWN, LOADED, OUT, WORKS_AGAIN = "mown", "loaded", "out", "works_again"
# All that was in the body was tipped, though the plan has the load as a part of it.
ALL_OF_IT: Final = "all_of_it"
LOAD_ACTS: Final = ("under_way", "delivered", ALL_OF_IT, "partly_refused", "refused")
SAID: Final = {MOWN: "mown", OUT: "out_known", WORKS_AGAIN: "works_again_known"}
ACTS: Final = (MOWN, LOADED, *LOAD_ACTS, OUT, WORKS_AGAIN)
KINDS: Final = {
    "under_way": ReportKind.SET_OFF,
    "delivered": ReportKind.TIPPED,
    ALL_OF_IT: ReportKind.TIPPED,
    "partly_refused": ReportKind.PART_TAKEN,
    "refused": ReportKind.REFUSED,
    OUT: ReportKind.VEHICLE_OUT,
    WORKS_AGAIN: ReportKind.VEHICLE_BACK,
}
HIGHEST: Final = 1000.0
LARGEST_AREA: Final = 10_000_000.0


class KeepReport:
    """Keep one report of a crew."""

    def __init__(self, needs: Needs, caller: Caller, scope: Scope) -> None:
        """Take the use cases, who reports, and whose round it is."""
        self._needs = needs
        self._caller = caller
        self._scope = scope

    def __call__(self, form: Form, *, own_id: UUID) -> str:
        """Return what was kept, in a sentence.

        Parameters
        ----------
        own_id
            The report's, the same in every try.

        Raises
        ------
        RecordMissing, RecordNotUsable, AlreadySaid
            And whatever the use case refuses.
        """
        act = form.choice("act", ACTS) or ""
        at = form.moment("at") or self._scope.look.now
        if act == MOWN:
            report = self._mown(form, at, own_id)
        elif act == LOADED:
            report = self._loaded(form, at, own_id)
        elif act in LOAD_ACTS:
            report = self._load(form, act, at, own_id)
        else:
            report = self._vehicle(form, act, at, own_id)
        done = self._needs.take_reports.one(self._caller, report)
        kept = self._say("already" if done.again else SAID.get(act, "kept"))
        return " ".join([kept, *(self._scope.says(warning) for warning in done.warnings)])

    def _say(self, name: str) -> str:
        return self._scope.reader.text(f"report.{name}")

    def _mown(self, form: Form, at: datetime, own_id: UUID) -> Report:
        job = self.job(form)
        wetness = form.choice("wetness", tuple(Wetness), required=False)
        clippings = form.choice("clippings", tuple(ClippingsHandling), required=False)
        said: dict[str, Any] = {
            "wetness": None if wetness is None else Wetness(wetness),
            "clippings": ClippingsHandling(clippings or job.clippings),
            "weeds_in_seed": form.flag("weeds_in_seed"),
            "disease_seen": form.flag("disease_seen"),
            "litter_seen": form.flag("litter_seen"),
            "leaves_mixed": form.flag("leaves_mixed"),
        }
        area = form.number(
            "area",
            low=0.1,
            high=LARGEST_AREA,
            required=False,
            printed=_printed(job.area_mowed),
        )
        if area is not None:
            said["area_mowed"] = Measure(value=area, unit=job.area_mowed.unit)
        height = form.number(
            "height",
            low=0.1,
            high=HIGHEST,
            required=False,
            printed=_printed(job.height_removed),
        )
        if height is not None:
            unit = "mm" if job.height_removed is None else job.height_removed.unit
            said["height_removed"] = Measure(value=height, unit=unit)
        if form.flag(NOT_SPRAYED):
            said["treatment_history"] = TreatmentHistory.NONE_RECORDED
        form.done()
        report = Report(
            id=own_id,
            kind=ReportKind.MOWN,
            at=at,
            job_id=job.id,
            crew_id=self._scope.crew.id,
            vehicle_id=self._scope.vehicle_id or job.vehicle_id,
            reason=form.text("reason"),
            **said,
        )
        if job.state is not JobState.PLANNED and not is_said_of(job, report):
            raise AlreadySaid(
                what=f"This lawn is on record as {job.state.value}",
                state=job.state.value,
            )
        return report

    def job(self, form: Form) -> Job:
        """Return the job a report is about, if it is of this round. Raises RecordMissing."""
        job_id = form.identifier("job")
        form.done()
        job: Job = self._needs.record_jobs.read(self._caller, job_id or NOBODY)
        crew, told = self._scope.crew, self._scope.told
        planned = {stop.get("job_id") for stop in told["stops"]} if told is not None else set()
        own = job.crew_id == crew.id or job.vehicle_id == self._scope.vehicle_id
        if not own and str(job.id) not in planned:
            raise RecordMissing(record="job", id=job.id)
        return job

    def _loaded(self, form: Form, at: datetime, own_id: UUID) -> Report:
        entry_id = form.identifier("entry")
        mass = form.measure("loaded_kg", unit="kg", low=1, high=HEAVIEST_KG, required=False)
        reason = form.text("reason")
        form.done()
        return Report(
            id=own_id,
            kind=ReportKind.LOADED,
            at=at,
            hold_entry_id=entry_id or NOBODY,
            mass=mass,
            vehicle_id=self._scope.vehicle_id,
            crew_id=self._scope.crew.id,
            reason=reason,
        )

    def _load(self, form: Form, act: str, at: datetime, own_id: UUID) -> Report:
        load_id = form.identifier("load")
        seen = form.choice("seen", tuple(LoadState))
        is_all = act == ALL_OF_IT
        act = "delivered" if is_all else act
        changes = load_changes(form, act)
        if act == "delivered" and (form.flag("weighed_kg") or form.flag("weigh_ticket")):
            changes |= load_changes(form, "weighed")
        reason = changes.get("refusal_reason") or form.text("reason")
        form.done()
        load: Load = self._needs.papers.loads.read(self._caller, load_id or NOBODY)
        if load.vehicle_id != self._scope.vehicle_id:
            raise RecordMissing(record="load", id=load.id)
        # What a plan since put in its place is found; what somebody said of it meanwhile is told.
        is_news = load.state not in {seen, LoadState.SUPERSEDED}
        if is_news and ticket_added(load, changes) is None:
            raise AlreadySaid(
                what=f"This load is on record as {LOAD_STATES[load.state.value]}",
                state=load.state.value,
            )
        return Report(
            id=own_id,
            kind=KINDS[act],
            at=at,
            load_id=load.id,
            parts=tuple(
                ReportedPart(job_id=part.job_id, hold_entry_id=part.hold_entry_id)
                for part in load.parts
                if is_all
            ),
            vehicle_id=load.vehicle_id,
            crew_id=self._scope.crew.id,
            weighed_net=changes.get("weighed_net"),
            weigh_ticket=changes.get("weigh_ticket"),
            refused_share=changes.get("refused_share"),
            reason=reason,
        )

    def _vehicle(self, form: Form, act: str, at: datetime, own_id: UUID) -> Report:
        if self._scope.vehicle_id is None:
            raise RecordMissing(record="vehicle", id="none")
        reason = form.text("reason", required=act == OUT)
        form.done()
        return Report(
            id=own_id, kind=KINDS[act], at=at, vehicle_id=self._scope.vehicle_id, reason=reason
        )


def _printed(measure: Measure | None) -> str:
    """Return a number as the page wrote it into its field."""
    return "" if measure is None else f"{measure.value:g}"

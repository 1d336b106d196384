"""What a crew reports: kept by the same use cases as the HTTP interface, for its own round only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.loads import Load, LoadState
from service.core.materials import ClippingsHandling, TreatmentHistory, Wetness
from service.core.quantities import Measure
from service.core.records import Identifiers
from service.pages.forms import Form
from service.pages.load_words import load_changes
from service.pages.needs import Needs
from service.pages.refusals import AlreadySaid
from service.pages.round.view import NOT_SPRAYED, Scope
from service.pages.words import LOAD_STATES

MOWN, OUT, WORKS_AGAIN = "mown", "out", "works_again"
LOAD_ACTS: Final = ("under_way", "delivered", "partly_refused", "refused")
ACTS: Final = (MOWN, *LOAD_ACTS, OUT, WORKS_AGAIN)
HIGHEST: Final = 1000.0
LARGEST_AREA: Final = 10_000_000.0


class KeepReport:
    """Keep one report of a crew."""

    def __init__(self, needs: Needs, caller: Caller, scope: Scope) -> None:
        """Take the use cases, who reports, and whose round it is."""
        self._needs = needs
        self._caller = caller
        self._scope = scope

    def __call__(self, form: Form, *, identifiers: Identifiers) -> str:
        """Return what was kept, in a sentence.

        Raises
        ------
        RecordMissing, RecordNotUsable, AlreadySaid
            And whatever the use case refuses.
        """
        act = form.choice("act", ACTS)
        at = form.moment("at")
        if act == MOWN:
            return self._mown(form, at)
        if act in {OUT, WORKS_AGAIN}:
            return self._vehicle(form, str(act), at, identifiers=identifiers)
        return self._load(form, act)

    def _say(self, name: str) -> str:
        return self._scope.reader.text(f"report.{name}")

    def _mown(self, form: Form, at: datetime | None) -> str:
        job = self.job(form)
        changes: dict[str, Any] = {
            "state": JobState.MOWN,
            "cut_at": at or self._scope.look.now,
            "wetness": Wetness(
                form.choice("wetness", tuple(Wetness), required=False) or job.wetness
            ),
            "clippings": ClippingsHandling(
                form.choice("clippings", tuple(ClippingsHandling), required=False) or job.clippings
            ),
            "weeds_in_seed": form.flag("weeds_in_seed"),
            "disease_seen": form.flag("disease_seen"),
            "litter_seen": form.flag("litter_seen"),
            "crew_id": self._scope.crew.id,
            "vehicle_id": self._scope.vehicle_id or job.vehicle_id,
        }
        area = form.number("area", low=0.1, high=LARGEST_AREA, required=False)
        if area is not None:
            changes["area_mowed"] = Measure(value=area, unit=job.area_mowed.unit)
        height = form.number("height", low=0.1, high=HIGHEST, required=False)
        if height is not None:
            unit = "mm" if job.height_removed is None else job.height_removed.unit
            removed = Measure(value=height, unit=unit)
            changes |= {"height_removed": removed, "height_before": None, "height_after": None}
        if form.flag(NOT_SPRAYED):
            changes["treatment_history"] = TreatmentHistory.NONE_RECORDED
        form.done()
        if job.state is JobState.MOWN and _says(job, changes):
            return self._say("already")
        if job.state is not JobState.PLANNED:
            raise AlreadySaid(
                what=f"This lawn is on record as {job.state.value}",
                state=self._scope.reader.text(f"job_state.{job.state.value}"),
            )
        self._needs.record_jobs.amend(
            self._caller, job.id, changes, expected_version=job.version, reason=form.text("reason")
        )
        return self._say("mown")

    def job(self, form: Form) -> Job:
        """Return the job a report is about, if it is of this round. Raises RecordMissing."""
        job_id = form.identifier("job")
        form.done()
        job: Job = self._needs.record_jobs.read(self._caller, job_id or UUID(int=0))
        crew, told = self._scope.crew, self._scope.told
        planned = {stop.get("job_id") for stop in told["stops"]} if told is not None else set()
        own = job.crew_id == crew.id or job.vehicle_id == self._scope.vehicle_id
        if not own and str(job.id) not in planned:
            raise RecordMissing(record="job", id=job.id)
        return job

    def _load(self, form: Form, act: str | None) -> str:
        load_id = form.identifier("load")
        seen = form.choice("seen", tuple(LoadState))
        changes = load_changes(form, act) if act else {}
        if act == "delivered" and (form.flag("weighed_kg") or form.flag("weigh_ticket")):
            changes |= load_changes(form, "weighed")
        reason = form.text("reason")
        form.done()
        load: Load = self._needs.papers.loads.read(self._caller, load_id or UUID(int=0))
        if load.vehicle_id != self._scope.vehicle_id:
            raise RecordMissing(record="load", id=load.id)
        if load.state != seen:
            if _says(load, changes):
                return self._say("already")
            raise AlreadySaid(
                what=f"This load is on record as {LOAD_STATES[load.state.value]}",
                state=self._scope.reader.load_state(load.state.value),
            )
        self._needs.update_load(
            self._caller, load.id, changes, expected_version=load.version, reason=reason
        )
        return self._say("kept")

    def _vehicle(
        self, form: Form, act: str, at: datetime | None, *, identifiers: Identifiers
    ) -> str:
        outages, vehicle_id = self._needs.library.vehicle_outages, self._scope.vehicle_id
        if vehicle_id is None:
            raise RecordMissing(record="vehicle", id="none")
        if act == OUT:
            reason = form.text("reason", required=True)
            form.done()
            values = {"vehicle_id": vehicle_id, "out_since": at or self._scope.look.now}
            outages.create(self._caller, {**values, "reason": reason}, identifiers=identifiers)
            return self._say("out_known")
        outage_id = form.identifier("outage")
        form.done()
        kept = outages.read(self._caller, outage_id or UUID(int=0))
        if kept.vehicle_id != vehicle_id:
            raise RecordMissing(record="vehicle outage", id=kept.id)
        if kept.back_at is None:
            outages.amend(
                self._caller,
                kept.id,
                {"back_at": at or self._scope.look.now},
                expected_version=kept.version,
                reason="works again",
            )
        return self._say("works_again_known")


def _says(record: Job | Load, changes: Mapping[str, Any]) -> bool:
    """Return whether a record says all this already: a try before this one kept it."""
    return bool(changes) and replace(record, **changes) == record

"""What is told at once of a job whose vehicle is on record as out when it is to be done."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from service.core.callers.access import Caller
from service.core.jobs import Job, JobState
from service.usecases.base.calendar import clock_words, day_of, span_of
from service.usecases.base.use_cases import Looking
from service.usecases.day.replanning.outages import OUT
from service.usecases.day.replanning.still_out import outage_of, outages_on


class TellOutThen(Looking):
    """Look whether a planned job's vehicle is out on its day, and not back before."""

    def __call__(self, caller: Caller, job: Job) -> tuple[dict[str, object], ...]:
        """Return that it is; nothing where it is not, or where the job is done."""
        if job.state is not JobState.PLANNED:
            return ()
        with self.open_reading() as unit:
            # Most vehicles never were out: then nothing else is read.
            if not unit.vehicle_outages.count(caller.firm_id, vehicle_id=job.vehicle_id):
                return ()
            depot = unit.depots.get_many(caller.firm_id, [job.depot_id])[job.depot_id]
            day, zone = day_of(depot, job.at), ZoneInfo(depot.time_zone)
            span = span_of(depot, day)
            on_record = outages_on(unit, caller.firm_id, span)
            now = self.clock.now()
            outage = outage_of(on_record, job.vehicle_id, depot=depot, span=span, now=now)
            if outage is None or outage.out_since > job.at:
                return ()
            if outage.back_at is not None and outage.back_at <= job.at:
                return ()
            vehicle = unit.vehicles.get_many(caller.firm_id, [job.vehicle_id])[job.vehicle_id]
        since = clock_words(outage.out_since.astimezone(zone), day=day)
        back = (
            "nobody said when it is back"
            if outage.back_at is None
            else f"is back at {clock_words(outage.back_at.astimezone(zone), day=day)}"
        )
        return (
            {
                "code": OUT,
                "sentence": (
                    f"{vehicle.registration} is on record as out since {since} "
                    f"({outage.reason.rstrip('. ')}), and {back}: by the plan it waits till then, "
                    "or another does this job. Give it to another vehicle, or say that it is back."
                ),
                "facts": {
                    "outage_id": str(outage.id),
                    "out_since": outage.out_since.isoformat(),
                    "back_at": None if outage.back_at is None else outage.back_at.isoformat(),
                },
            },
        )

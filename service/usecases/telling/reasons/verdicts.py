"""What every destination says to a job's clippings, with the sources of each word."""

from __future__ import annotations

from dataclasses import dataclass, replace
from uuid import UUID

from service.core.callers.access import Caller
from service.core.jobs import Job, JobState
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_estimates import stood_until
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.use_cases import Asking
from service.usecases.day.destinations import TurnedAway, ask_all, ready_destinations
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import with_freezes
from service.usecases.day.planned_day import range_of
from service.usecases.day.reading.read_day import read_day, routed_on
from service.usecases.telling.before_mowing.by_plan import mown_by_plan
from service.usecases.telling.reasons.estimates import find_job, sources_of
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.verdicts import told_verdict


@dataclass(frozen=True, kw_only=True, eq=False)
class TellVerdicts(Asking):
    """Ask every destination about one job's lot, by today's records; nothing is kept."""

    rulebook: Rulebook

    def __call__(self, caller: Caller, job_id: UUID) -> dict[str, object]:
        """Return every verdict on the job's lot, refusals too, and the sources in full.

        Raises
        ------
        RecordMissing
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            job = find_job(unit, caller, job_id)
            lot_facts = read_lot_facts(unit, caller.firm_id, [job])
            depot = lot_facts.depots[job.depot_id]
            day = routed_on(unit, depot, job, now=now)
            stood = stood_until(unit, caller.firm_id, [job], now=now)[job.id]
            facts = read_day(unit, firm_id=caller.firm_id, depot_id=job.depot_id, day=day, now=now)
        # What was tipped is asked about as it was then; the rest as it can be tipped.
        at = stood if job.state is JobState.MOWN and stood < now else facts.tips_from
        lot = lot_facts.lot_of(_as_planned(job, facts), rulebook=self.rulebook, at=at)
        ready = ready_destinations(facts, rulebook=self.rulebook)
        asked = ask_all({job.id: lot}, ready, turned_away=TurnedAway.on(facts))
        verdicts = with_freezes(asked, facts.recalls).verdicts[job.id]
        keys = {key for verdict in verdicts for key in verdict.sources}
        return {
            "job_id": str(job.id),
            "lot_code": job.lot_code,
            "day": day.isoformat(),
            "jurisdiction": depot.jurisdiction,
            "status": lot.status.value,
            "look_by": lot.look_by.isoformat(),
            "keeps_until": lot.keeps_until.isoformat(),
            "mass_kg": range_of(lot.mass_kg),
            "verdicts": [
                {
                    **plain(told_verdict(verdict, name=destination.name)),
                    "refused": verdict.refused,
                }
                for destination, verdict in zip(ready, verdicts, strict=True)
            ],
            "rulebook_version": self.rulebook.version,
            "sources": sources_of(self.rulebook, keys),
        }


def _as_planned(job: Job, facts: DayFacts) -> Job:
    """Return a job still to be mown with the hour at which the plan has it mown, if it has one.

    How long its clippings keep is counted from there, as in the routing.
    """
    mown_at = mown_by_plan(facts.previous, job.id) if job.state is JobState.PLANNED else None
    return job if mown_at is None else replace(job, planned_at=mown_at)

"""Before the mower starts: bag it, leave it on the lawn, or bag it and hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from uuid import UUID

from service.core.access import Caller
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.materials import TreatmentHistory, Wetness
from service.core.quantities import Measure
from service.core.records import Clock
from service.destinations.estimating import estimate_lot
from service.destinations.lawn import lawn_advice
from service.destinations.lots import find_lot
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of
from service.usecases.base.destination_kinds import COLLECTABLE, HELD
from service.usecases.base.lot_facts import read_lot_facts
from service.usecases.base.ports import OpenUnitOfWork
from service.usecases.day.destinations import TurnedAway, ask_all, ready_destinations
from service.usecases.day.facts import read_day
from service.usecases.day.planned_day import range_of, told_verdict

DESTINATIONS_TOLD = 5


class PreMowCheck:
    """Answer a crew that stands before a lawn whether it may bag, and where that would go."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock, rulebook: Rulebook
    ) -> None:
        """Take what is needed."""
        self._open = open_unit_of_work
        self._clock = clock
        self._rulebook = rulebook

    def __call__(
        self,
        caller: Caller,
        lawn_id: UUID,
        *,
        depot_id: UUID,
        height_removed_mm: float = 25.0,
        wetness: Wetness = Wetness.UNKNOWN,
        treatment_history: TreatmentHistory = TreatmentHistory.UNKNOWN,
        at: datetime | None = None,
    ) -> dict[str, object]:
        """Return the answer with one reason and the estimate; nothing is kept.

        Raises
        ------
        RecordMissing
        """
        now = self._clock.now()
        with self._open() as unit:
            lawn = unit.lawns.get(caller.firm_id, lawn_id)
            if lawn is None:
                raise RecordMissing(record="lawn", id=lawn_id)
            depot = unit.depots.get(caller.firm_id, depot_id)
            if depot is None:
                raise RecordMissing(record="depot", id=depot_id)
            job = Job(
                id=lawn_id,
                firm_id=caller.firm_id,
                version=1,
                created_at=now,
                updated_at=now,
                property_id=lawn.property_id,
                lawn_id=lawn_id,
                crew_id=caller.key_id,
                vehicle_id=caller.key_id,
                depot_id=depot_id,
                state=JobState.PLANNED,
                planned_at=at or now,
                area_mowed=lawn.area,
                height_removed=Measure(value=height_removed_mm, unit="mm"),
                grass_kind=lawn.grass_kind,
                wetness=wetness,
                treatment_history=treatment_history,
            )
            day = day_of(depot, job.at)
            facts = read_day(unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=now)
            lot_facts = read_lot_facts(unit, caller.firm_id, [job])
        place = lot_facts.properties[job.property_id]
        estimate = estimate_lot(
            job,
            latitude=place.point.latitude,
            rulebook=self._rulebook,
            day=day,
            jurisdiction=depot.jurisdiction,
        )
        lot = find_lot(
            replace(job, estimate=estimate),
            treatments=lot_facts.treatments_for(job),
            mowings=lot_facts.mowings_for(job),
            rulebook=self._rulebook,
            day=day,
            jurisdiction=depot.jurisdiction,
        )
        # What is planned for the day takes room too: the crew asks what is left for it.
        booked = replace(facts, elsewhere=(*facts.elsewhere, *facts.planned_loads))
        ready = ready_destinations(booked, rulebook=self._rulebook)
        asked = ask_all({job.id: lot}, ready, turned_away=TurnedAway.on(facts))
        elsewhere = asked.of(job.id, COLLECTABLE)
        advice = lawn_advice(
            job,
            lot,
            elsewhere,
            held=asked.of(job.id, HELD),
            rulebook=self._rulebook,
            day=day,
            jurisdiction=depot.jurisdiction,
        )
        names = {item.id: item.name for item in ready}
        willing = [verdict for verdict in elsewhere if not verdict.refused]
        if advice.must or advice.better:
            answer = "leave_on_lawn"
        else:
            answer = "collect" if willing else "collect_to_hold"
        return {
            "lawn_id": str(lawn_id),
            "day": day.isoformat(),
            "answer": answer,
            "must": advice.must,
            "code": advice.code,
            "sentence": advice.sentence,
            "rule_class": advice.rule_class.value,
            "facts": advice.facts,
            "sources": list(advice.sources),
            "status": lot.status.value,
            "mass_kg": range_of(estimate.mass_kg),
            "volume_l": range_of(estimate.volume_m3.scaled(1000.0, unit="L")),
            "one_third_rule_broken": estimate.one_third_rule_broken,
            "willing": [
                told_verdict(verdict, name=names[verdict.destination_id])
                for verdict in willing[:DESTINATIONS_TOLD]
            ],
            "rulebook_version": self._rulebook.version,
        }

"""What fairness makes of a load: what it counts more here, and which beds it was kept from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from service.core.loads import Load
from service.core.measures.units import METRES_PER_KM
from service.core.places import DestinationKind
from service.core.plans import Verdict
from service.destinations.laid.fairness import LIMIT_CODE, BedFairness
from service.destinations.ready import KILOGRAMS_PER_TONNE, ReadyDestination
from service.planning.model.result import PlanStop
from service.usecases.base.destination_kinds import KINDS
from service.usecases.day.planned_day import PlannedDay, named
from service.usecases.telling.told.places import BurdenTold, FairnessCode, SparedBed

PRICE_CODE: Final = "fairness_price"
MOST_TOLD = 3
SECONDS_PER_MIN = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A stop of a vehicle with the planner's places before and after it.

    ``is_work_ahead`` tells whether a job comes later: then the time at a shut gate is paid.
    """

    stop: PlanStop
    before: str
    after: str
    is_work_ahead: bool


class FairnessTeller:
    """Tells what a depot's wish to be fair to beds does to loads."""

    def __init__(self, made: PlannedDay) -> None:
        """Take the made day; the beds are looked at once."""
        self._made = made
        problem = made.built.problem
        self._destinations = {d.id: d for d in problem.destinations}
        self._keys = {ready.id: key for key, ready in made.built.destinations.items()}
        self._rows = {place.id: row for row, place in enumerate(problem.places)}
        self._place_of = {job.id: job.place for job in problem.jobs} | {
            d.id: d.place for d in problem.destinations
        }
        self._vehicles = {
            made.built.vehicles[vehicle.id].vehicle_id: vehicle for vehicle in problem.vehicles
        }
        self._rooms = {use.id: use.room_kg for use in made.plan.destinations}
        self._beds: list[tuple[ReadyDestination, BedFairness, int]] = [
            (ready, ready.fairness, self._rows[made.built.places[ready.point]])
            for ready in made.asked.destinations
            if ready.fairness is not None and ready.point in made.built.places
        ]
        self._bed_rows: NDArray[np.intp] = np.array([row for *_, row in self._beds], dtype=np.intp)

    def legs(self, vehicle_id: UUID, stops: Sequence[PlanStop]) -> list[Leg]:
        """Return a vehicle's stops still to come with the places before and after each."""
        vehicle = self._vehicles[vehicle_id]
        way = [
            vehicle.start_place,
            *(self._place_of[str(stop.job or stop.destination)] for stop in stops),
            vehicle.end_place,
        ]
        last = max((at for at, stop in enumerate(stops) if stop.job is not None), default=-1)
        return [
            Leg(stop=stop, before=before, after=after, is_work_ahead=at <= last)
            for at, (stop, before, after) in enumerate(zip(stops, way, way[2:], strict=False))
        ]

    def burden(self, leg: Leg) -> BurdenTold | None:
        """Return what fairness does to a load that is still to be tipped on a bed."""
        here = self._here(leg)
        if here.fairness is None:
            return None
        return BurdenTold(
            sentence=here.fairness.sentence,
            **here.fairness.facts,
            burden_cents=round(self._burden_cents(here, leg.stop.mass_kg)),
        )

    def _here(self, leg: Leg) -> ReadyDestination:
        return self._made.built.destinations[str(leg.stop.destination)]

    def _burden_cents(self, ready: ReadyDestination, mass_kg: int) -> float:
        """Return what a plan counts more for so much on a bed; nobody pays it."""
        destination = self._destinations[self._keys[ready.id]]
        return destination.burden_cents_per_t * mass_kg / KILOGRAMS_PER_TONNE

    def spared(self, leg: Leg, load: Load) -> tuple[SparedBed, ...]:
        """Return the beds that would be cheaper for this load but for fairness, cheapest first.

        The load is put there instead in the same place of its vehicle's way: driving, the crew's
        time there and at a shut gate, stop and fee are counted.
        """
        if not self._beds:
            return ()
        here = self._here(leg)
        chosen = self._destinations[self._keys[here.id]]
        kg = leg.stop.mass_kg
        row = self._rows[chosen.place]
        own_cents = (
            self._detour_cents(
                leg,
                np.array([row], dtype=np.intp),
                chosen.tip_s
                + leg.is_work_ahead * (chosen.begins_s(leg.stop.arrive_s) - leg.stop.arrive_s),
            )[0]
            + chosen.stop_cents
            + chosen.fee_cents_per_t * kg / KILOGRAMS_PER_TONNE
        )
        arrive_s = self._arrive_s(leg, row, self._bed_rows)
        begins_s = [
            ready.begins_s(at) for (ready, *_), at in zip(self._beds, arrive_s, strict=True)
        ]
        waits_s = leg.is_work_ahead * (np.array(begins_s) - arrive_s)
        tips_s = np.array([ready.tip_s for ready, *_ in self._beds])
        there_cents = (
            self._detour_cents(leg, self._bed_rows, tips_s + waits_s)
            + KINDS[DestinationKind.BED].stop_cents
        )
        savings = own_cents - there_cents
        lots = [part.lot_id for part in load.parts]
        found: list[SparedBed] = []
        for number in np.argsort(-savings, kind="stable").tolist():
            saving = float(savings[number])
            ready, fair, _ = self._beds[number]
            if round(saving) < 1 or len(found) == MOST_TOLD:
                break
            if ready.id == here.id or arrive_s[number] > ready.close_s:
                continue
            told = self._against(ready, fair, lots, kg=kg, saving=saving, here=here)
            if told is not None:
                code, sentence = told
                found.append(
                    SparedBed(
                        **named(ready),
                        code=code,
                        saving_cents=round(saving),
                        sentence=sentence,
                        **fair.facts,
                    )
                )
        return tuple(found)

    def _against(
        self,
        ready: ReadyDestination,
        fair: BedFairness,
        lots: list[UUID],
        *,
        kg: int,
        saving: float,
        here: ReadyDestination,
    ) -> tuple[FairnessCode, str] | None:
        """Return code and sentence if it is fairness that keeps a load from a bed."""
        name = f"But for fairness {ready.name} would cost {saving / 100:.2f} less for this load"
        said = [self._verdict(ready, job_id) for job_id in lots]
        refusals = [verdict for verdict in said if verdict.refused]
        if refusals:
            if any(verdict.code != LIMIT_CODE for verdict in refusals):
                return None
            return LIMIT_CODE, f"{name}. {refusals[0].sentence}"
        tightest = min(said, key=lambda verdict: verdict.accepted_kg)
        key = self._keys[ready.id]
        if self._rooms[key] < kg:
            if tightest.code != LIMIT_CODE:
                return None
            others_kg = self._destinations[key].capacity_kg - self._rooms[key]
            taken = f" Other loads of the day bring it {others_kg:,} kg." if others_kg else ""
            return LIMIT_CODE, f"{name}. {tightest.sentence}{taken}"
        more = self._burden_cents(ready, kg) - self._burden_cents(here, kg)
        if more < saving:
            return None
        return PRICE_CODE, f"{name}, but counts {more / 100:.2f} more. {fair.sentence}"

    def _verdict(self, ready: ReadyDestination, job_id: UUID) -> Verdict:
        asked = self._made.asked
        return asked.verdicts[job_id][asked.position[ready.id]]

    def _detour_cents(
        self, leg: Leg, rows: NDArray[np.intp], stay_s: NDArray[np.int64] | int
    ) -> NDArray[np.float64]:
        """Return what the way over some places to the next stop costs, and the crew's time."""
        travel, costs = self._made.built.travel, self._made.built.problem.costs
        before, after = self._rows[leg.before], self._rows[leg.after]
        metres = travel.distance_m[before, rows] + travel.distance_m[rows, after]
        seconds = travel.duration_s[before, rows] + travel.duration_s[rows, after] + stay_s
        cents: NDArray[np.float64] = (
            metres * costs.drive_cents_per_km / METRES_PER_KM
            + seconds * costs.crew_cents_per_min / SECONDS_PER_MIN
        )
        return cents

    def _arrive_s(self, leg: Leg, row: int, others: NDArray[np.intp]) -> NDArray[np.int64]:
        """Return when the vehicle would be at other places instead."""
        seconds = self._made.built.travel.duration_s
        before = self._rows[leg.before]
        there: NDArray[np.int64] = (
            leg.stop.arrive_s - seconds[before, row] + seconds[before, others]
        )
        return there

"""What is told of lots without a place: which stay on their lawns, and what stays aboard."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator
from uuid import UUID

from service.core.materials import worst_status
from service.rules.lookup import Rulebook
from service.usecases.day.bodies.composition import Carried, carried_in, have_a_taker
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.planned_day import PlannedDay
from service.usecases.telling.told.lots import LEAVE, Attention
from service.usecases.telling.unplaced.landfill import landfill_words

NOBODY_TAKES = "nobody_takes_what_is_aboard"
NEVER_ASKED = "site_sour_not_said"
NO_ROOM = "no_room_for_what_is_aboard"


class LeftTeller:
    """Tells what a made day leaves on lawns or aboard."""

    def __init__(self, made: PlannedDay, *, rulebook: Rulebook) -> None:
        """Take the made day."""
        self._made = made
        self._landfill = landfill_words(made.facts.rules(rulebook))
        self._codes = {lot_id: lot.lot_code for lot_id, lot in made.asked.lots.items()}
        self._codes |= {job.id: job.lot_code for job in made.facts.jobs}
        days = made.built.vehicles
        self._carried = [
            (days[answer.id], carried_in(made.plan, answer, days[answer.id]))
            for answer in made.plan.vehicles
        ]
        pieces = made.built.pieces
        self._on_lawns: dict[UUID, tuple[str, dict[str, object]]] = {
            pieces[key].job_id: (
                self._leave(day, carried),
                {"under_it": self._lots(carried.rest) if carried.rest_kg > 0 else []},
            )
            for day, carried in self._carried
            for key in carried.on_lawns
            if pieces[key].hold_entry_id is None and pieces[key].stands_at is None
        }
        self._unfetched = dict(self._left_standing())
        self._aboard = {
            job_id: (self._code(day), self._stays(day, carried), carried.rest_kg)
            for day, carried in self._carried
            if carried.rest_kg > 0
            for job_id in carried.rest
        }

    def leave(self, job_id: UUID) -> str | None:
        """Return why a lawn that is to be mown keeps its clippings; None if it does not."""
        advice = self._made.advice.get(job_id)
        if advice is not None and advice.better:
            return advice.sentence
        return self._on_lawns[job_id][0] if job_id in self._on_lawns else None

    def fractions(self, vehicle_id: UUID) -> list[float]:
        """Return of each planned tip of a vehicle what it is of all that is aboard, in order."""
        return [
            drop.fraction
            for day, carried in self._carried
            if day.vehicle_id == vehicle_id
            for drop in carried.drops
        ]

    def of_lot(self, job_id: UUID) -> Attention | None:
        """Return what is the matter with a lot that has no place; None if it has one."""
        if job_id in self._on_lawns:
            sentence, facts = self._on_lawns[job_id]
            return Attention(code=LEAVE, sentence=sentence, facts=facts)
        if job_id in self._unfetched:
            vehicle_id, mass_kg = self._unfetched[job_id]
            return Attention(
                code=NO_ROOM,
                sentence=self._stands_on(vehicle_id, mass_kg),
                facts={"mass_high_kg": mass_kg},
            )
        if job_id in self._aboard:
            code, sentence, mass_kg = self._aboard[job_id]
            return Attention(code=code, sentence=sentence, facts={"mass_high_kg": mass_kg})
        return None

    def warnings(self) -> Iterator[dict[str, object]]:
        """Yield, for each vehicle, what stays aboard without a place and what not to bag."""
        for day, carried in self._carried:
            vehicle_id = str(day.vehicle_id)
            if carried.rest_kg > 0:
                yield {
                    "vehicle_id": vehicle_id,
                    "code": self._code(day),
                    "lot_codes": self._lots(carried.rest),
                    "mass_high_kg": carried.rest_kg,
                    "why": self._stays(day, carried),
                }
            told: dict[str, set[UUID]] = {}
            for piece in day.ahead:
                job_id = piece.job_id
                advice = self._made.advice.get(job_id)
                if job_id in self._on_lawns:
                    told.setdefault(self._on_lawns[job_id][0], set()).add(job_id)
                elif advice is not None and advice.code == "nobody_takes_them":
                    told.setdefault(advice.sentence, set()).add(job_id)
            for sentence, job_ids in told.items():
                yield {
                    "vehicle_id": vehicle_id,
                    "code": LEAVE,
                    "job_ids": sorted(map(str, job_ids)),
                    "lot_codes": self._lots(job_ids),
                    "why": sentence,
                }

    def _left_standing(self) -> Iterator[tuple[UUID, tuple[UUID, int]]]:
        """Yield lots in a vehicle that is out of which nobody fetches a part: whose, how much."""
        masses_kg: Counter[UUID] = Counter()
        lots: dict[UUID, set[UUID]] = defaultdict(set)
        for _, carried in self._carried:
            for key, share in carried.on_lawns.items():
                piece = self._made.built.pieces[key]
                if piece.stands_at is not None and piece.taken_from is not None:
                    masses_kg[piece.taken_from] += round(share * piece.mass_kg)
                    lots[piece.taken_from] |= {job_id for job_id, _ in piece.shares}
        for vehicle_id, mass_kg in masses_kg.items():
            for job_id in lots[vehicle_id]:
                yield job_id, (vehicle_id, mass_kg)

    def _stands_on(self, vehicle_id: UUID, mass_kg: int) -> str:
        name = self._made.facts.vehicles[vehicle_id].registration
        return (
            f"Up to {mass_kg} kg stay in {name} where it stands: no place that takes them has room "
            "or time for all of them. A hold bay with room, or a site that takes them, would end "
            "this."
        )

    def _code(self, day: VehicleDay) -> str:
        stuck = bool(day.aboard) and not have_a_taker(day.aboard, self._made.asked)
        return NOBODY_TAKES if stuck else NO_ROOM

    def _stays(self, day: VehicleDay, carried: Carried) -> str:
        lots = self._made.asked.lots
        status = worst_status(lots[job_id].status for job_id in carried.rest).value
        name = self._made.facts.vehicles[day.vehicle_id].registration
        why = (
            "no bed, site or bay takes what is in its body"
            if self._code(day) == NOBODY_TAKES
            else "no place that is known to take it has room or time for all of it"
        )
        on_top = (
            "What is loaded on top goes nowhere either, so bring this away first."
            if self._code(day) == NOBODY_TAKES
            else "Bag nothing on top before it is known where it goes."
        )
        never_asked = dict.fromkeys(
            self._made.asked.by_id[said.destination_id].name
            for job_id in carried.rest
            for said in self._made.asked.verdicts.get(job_id, ())
            if said.code == NEVER_ASKED
        )
        return (
            f"Up to {carried.rest_kg} kg of {', '.join(self._lots(carried.rest))} ({status}) stay "
            f"aboard {name}: {why}. {on_top} A hold bay with room, or a site that takes it, would "
            "end this."
            + "".join(
                f" {name} has not said whether it takes what has turned: ask it."
                for name in never_asked
            )
            + (f" {self._landfill}" if self._code(day) == NOBODY_TAKES else "")
        )

    def _leave(self, day: VehicleDay, carried: Carried) -> str:
        name = self._made.facts.vehicles[day.vehicle_id].registration
        if carried.rest_kg > 0:
            aboard = ", ".join(self._lots(carried.rest))
            return (
                f"Do not bag these clippings into {name}: on top of {aboard}, which has no place, "
                "they would have none either. Leave them on the lawn or mow it on another day; "
                "bags that are kept apart from the body stay clean."
            )
        return (
            f"Do not bag all of these clippings into {name}: no place that takes them has room or "
            "time. Leave them on the lawn, or mow it on another day."
        )

    def _lots(self, job_ids: Collection[UUID]) -> list[str]:
        return sorted(self._codes[job_id] for job_id in job_ids)

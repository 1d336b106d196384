"""One vehicle's day in few bytes: what is next, what to show there, and how much room is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.agronomy.clippings.vehicle_load import Aboard, VehicleLimits, room_left
from service.core.callers.access import Caller
from service.core.crews import Crew, Vehicle
from service.core.errors import RecordMissing
from service.core.materials import Wetness
from service.core.measures.units import LITRES_PER_M3
from service.core.notes import DeliveryNote
from service.core.places import Depot
from service.core.plans import DayPlan
from service.destinations.estimating import PACKING
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import DaySpan, day_of, span_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Looking
from service.usecases.day.facts import is_over_for, lasts_the_day
from service.usecases.day.replanning.still_out import outage_of, outages_on
from service.usecases.day.told_routing import PICK_UP
from service.usecases.planning.current_routing import (
    WAITS_S,
    BeingPlanned,
    NotPlannedYet,
    ReadRouting,
)
from service.usecases.planning.few_bytes import fitting
from service.usecases.records.own_vehicle import is_own_vehicle
from service.usecases.telling.changes.of_vehicle import changed_for
from service.usecases.telling.in_language import ENGLISH, for_crew, sentence_of
from service.usecases.telling.routing.vehicles import out_told
from service.usecases.telling.stops import Places, is_past_keeping, stops_ahead
from service.usecases.telling.told.crews import HomeTold
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.places import Named
from service.usecases.telling.told.vehicle_today import (
    DropToday,
    JobToday,
    LoadHeldToday,
    PickUpToday,
    RoomToday,
    ShowToday,
    StopToday,
    TipToday,
    VehicleDay,
)
from service.usecases.telling.warnings.on_the_way import CODE, NOT_ALL

MOST_STOPS: Final = 12

Told = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleToday:
    """What is told of a vehicle's day, and by which plan."""

    told: dict[str, Any]
    plan_id: UUID | None
    note_id: UUID | None


@dataclass(frozen=True, kw_only=True, eq=False)
class TellVehicleToday(Looking):
    """Tell a crew its own day, and nobody else's."""

    read_routing: ReadRouting
    rulebook: Rulebook

    def unchanged_id(self, caller: Caller, vehicle_id: UUID) -> UUID | None:
        """Return the id of the plan that would be told, without reading it; None if unsure.

        Raises
        ------
        RecordMissing
        """
        with self.open_reading() as unit:
            vehicle = _vehicle(unit, caller, vehicle_id, self.clock.now())
            depot = unit.depots.get_many(caller.firm_id, [vehicle.depot_id])[vehicle.depot_id]
        try:
            day = day_of(depot, self.clock.now())
            kept = self.read_routing.unchanged(caller, depot.id, day)
        except NotPlannedYet:
            return None
        return None if kept is None else kept.plan_id

    def __call__(
        self, caller: Caller, vehicle_id: UUID, *, since_id: UUID | None = None
    ) -> VehicleToday:
        """Return the vehicle's day by the newest plan, and whether that knows everything by now.

        Parameters
        ----------
        since_id
            The plan that the crew saw last: what changed is told since that one.

        Raises
        ------
        RecordMissing, PlanOvertaken
        """
        with self.open_reading() as unit:
            vehicle = _vehicle(unit, caller, vehicle_id, self.clock.now())
            depot = unit.depots.get_many(caller.firm_id, [vehicle.depot_id])[vehicle.depot_id]
            day = day_of(depot, self.clock.now())
            out = _out(unit, vehicle, depot, span_of(depot, day), self.clock.now())
        unplanned = VehicleDay(
            vehicle_id=vehicle.id,
            registration=vehicle.registration,
            day=day,
            out=out,
            room=self._room(vehicle.payload_kg, vehicle.body_volume_m3 * LITRES_PER_M3, None),
        )
        try:
            newest = self.read_routing.read(caller, depot.id, day, wait_s=WAITS_S)
        except (NotPlannedYet, BeingPlanned):
            return VehicleToday(told=plain(unplanned), plan_id=None, note_id=None)
        plan = newest.plan
        bare = replace(unplanned, day_revision=newest.day_revision)
        with self.open_reading() as unit:
            before_id = since_id or plan.supersedes_id
            before = unit.day_plans.get(caller.firm_id, before_id) if before_id else None
            return self._told(unit, bare, vehicle, plan, before)

    def _told(
        self,
        unit: UnitOfWork,
        bare: VehicleDay,
        vehicle: Vehicle,
        plan: DayPlan,
        before: DayPlan | None,
    ) -> VehicleToday:
        routing: Any = plan.routing
        own = next((v for v in routing["vehicles"] if v["vehicle_id"] == str(vehicle.id)), None)
        about_it = (one for one in routing["warnings"] if one.get("vehicle_id") == str(vehicle.id))
        warnings = for_crew(about_it)
        named = (own or {}, *warnings)
        crew_ids = [one for told in named for one in told.get("crew_ids", ())]
        language = _language(unit, vehicle, crew_ids)
        told = replace(
            bare,
            plan_id=plan.id,
            revision=plan.revision,
            cautions=tuple(_said(warning, language) for warning in warnings),
            changed=changed_for(vehicle, plan, before),
        )
        if own is None:
            return VehicleToday(told=plain(told), plan_id=plan.id, note_id=None)
        ahead = stops_ahead(own["stops"])
        places = Places(unit, vehicle.firm_id, plan.day, ahead)
        on_the_way = {one["load_id"]: one for one in warnings if one["code"] in {CODE, NOT_ALL}}
        teller = _Stops(places, own, on_the_way, language=language, now=self.clock.now())
        tip = next((stop for stop in ahead if stop["kind"] == "drop"), None)
        note = None if tip is None else _note(unit, vehicle.firm_id, UUID(tip["load_id"]))
        room = own["aboard_now"]
        told = replace(
            told,
            out=own.get("out"),
            room=self._room(room["room_left_kg"], room["room_left_l"], plan),
            next_tip=None if tip is None else teller.tip(tip),
            stops=tuple(teller.stop(stop) for stop in ahead[:MOST_STOPS]),
            stops_after=max(0, len(ahead) - MOST_STOPS),
        )
        return VehicleToday(
            told=fitting(plain(told)), plan_id=plan.id, note_id=None if note is None else note.id
        )

    def _room(self, kg: float, litres: float, plan: DayPlan | None) -> RoomToday:
        """Return the room left if all aboard, and all to come, is as wet as it may be."""
        day = self.clock.now().date() if plan is None else plan.day
        bag_l = self.rulebook.value_on("bag_litres", day).estimate.likely
        wet = self.rulebook.value_on(
            "bulk_density_kg_per_m3", day, packing=PACKING[Wetness.RAINED_ON]
        ).estimate
        room = room_left(
            VehicleLimits(payload_kg=kg, body_volume_m3=litres / LITRES_PER_M3),
            # What is aboard is taken off by now.
            Aboard(mass_high_kg=0.0, volume_high_m3=0.0),
            density_high_kg_per_m3=wet.high,
            density_low_kg_per_m3=wet.low,
            bag_litres=bag_l,
        )
        return RoomToday(
            kg=int(room.mass_kg),
            litres=int(room.volume_litres),
            bags=room.bags or 0,
            bag_litres=bag_l,
            bag_kg=round(bag_l / LITRES_PER_M3 * wet.high, 1),
        )


class _Stops:
    """Tells stops as a crew needs them: where, how to get in, what to show."""

    def __init__(
        self, places: Places, own: Told, on_the_way: Told, *, language: str, now: datetime
    ) -> None:
        self._places = places
        self._on_the_way = on_the_way
        self._own = own
        self._language = language
        self._now = now

    def stop(self, stop: Told) -> StopToday:
        kind, at, point = stop["kind"], stop["at"], (stop["longitude"], stop["latitude"])
        if kind == "drop":
            return DropToday(
                kind=kind, at=at, point=point, name=stop["destination"], load_id=stop["load_id"]
            )
        if kind == "job":
            return JobToday(
                kind=kind,
                at=at,
                point=point,
                name=stop["property"],
                job_id=stop["job_id"],
                **self._where(stop),
                leave_on_lawn=stop["leave_on_lawn"],
            )
        caution = sentence_of({**stop, "code": kind}, self._language) or stop["caution"]
        if kind == PICK_UP:
            whose = stop["from_registration"]
            return PickUpToday(
                kind=kind,
                at=at,
                point=point,
                name=whose,
                job_id=stop["job_id"],
                from_registration=whose,
                mass_high_kg=stop["mass_high_kg"],
                caution=caution,
            )
        return LoadHeldToday(
            kind=kind,
            at=at,
            point=point,
            name="the bay",
            hold_entry_id=stop["hold_entry_id"],
            mass_high_kg=stop["mass_high_kg"],
            caution=caution,
        )

    def tip(self, stop: Told) -> TipToday:
        """Return the next tip: where, what to show there, and where else if it fails."""
        codes, mass = stop["lot_codes"], stop["mass_kg"]
        return TipToday(
            load_id=stop["load_id"],
            destination_kind=stop["destination_kind"],
            destination_id=stop["destination_id"],
            name=stop["destination"],
            by=stop["at"],
            keeps_until=stop["keeps_until"],
            show=ShowToday(
                registration=self._own["registration"],
                lot_codes=codes[:MOST_STOPS],
                lots=len(codes),
                status=stop["status"],
                low_kg=mass["low"],
                high_kg=mass["high"],
            ),
            cautions=(
                *self._sour(stop),
                *(
                    sentence_of(caution, self._language) or caution["for_crew"]
                    for caution in stop.get("cautions", ())
                    # Where it is not to be tipped nothing says how to lay it.
                    if self._on_the_way.get(stop["load_id"], {}).get("code") != CODE
                ),
            ),
            **self._where(stop),
            plan_b=self._plan_b(stop),
        )

    def _sour(self, stop: Told) -> list[str]:
        """Return that the hour to which it keeps is past; nothing where it is not."""
        if not is_past_keeping(stop, self._now):
            return []
        sour = {"code": "counts_as_sour", "keeps_until": stop["keeps_until"]}
        return [sentence_of(sour, self._language) or ""]

    def _where(self, stop: Told) -> dict[str, str | None]:
        place = self._places.of(stop)
        if place is None:
            return {"address": None, "access": None}
        access = place.access_notes if isinstance(place, HomeTold) else place.they_say
        return {"address": place.address, "access": access or None}

    def _plan_b(self, stop: Told) -> Named | None:
        """Return where the load would go instead; None where the plan knows no other place."""
        if stop["load_id"] in self._on_the_way:
            other = self._on_the_way[stop["load_id"]]["elsewhere"]
            return None if other is None else Named(**other)
        explanation = stop.get("explanation") or {}
        runner_up = explanation.get("runner_up") or {"destinations": []}
        for named in runner_up["destinations"]:
            if named["destination_id"] != stop["destination_id"]:
                return Named(**named)
        return None


def _vehicle(unit: UnitOfWork, caller: Caller, vehicle_id: UUID, now: datetime) -> Vehicle:
    """Return the vehicle, if it is of the caller's crew. Raises RecordMissing."""
    vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, vehicle_id)
    if vehicle is None or not is_own_vehicle(unit, caller, vehicle, now):
        raise RecordMissing(record="vehicle", id=vehicle_id)
    return vehicle


def _out(
    unit: UnitOfWork, vehicle: Vehicle, depot: Depot, span: DaySpan, now: datetime
) -> Told | None:
    """Return what is on record of a vehicle that is out: one without work has no part in a plan."""
    on_record = outages_on(unit, vehicle.firm_id, span)
    outage = outage_of(on_record, vehicle.id, depot=depot, span=span, now=now)
    if outage is None:
        return None
    stands = lasts_the_day(outage, depot, span, now) and is_over_for(outage, depot, span, now)
    told: Told = plain(out_told(outage, span, stands=stands))
    return told


def _said(warning: Told, language: str) -> str:
    return sentence_of(warning, language) or str(warning["why"])


def _language(unit: UnitOfWork, vehicle: Vehicle, crew_ids: Sequence[str]) -> str:
    """Return the language of the crew that drives; English where no crew is known."""
    found = unit.crews.get_many(vehicle.firm_id, [UUID(crew_id) for crew_id in crew_ids])
    crews: list[Crew] = [found[one] for crew_id in crew_ids if (one := UUID(crew_id)) in found]
    # The crew whose load was forked over has a job in it, too: its own crew goes first.
    crews.sort(key=lambda crew: crew.vehicle_id != vehicle.id)
    return crews[0].language if crews else ENGLISH


def _note(unit: UnitOfWork, firm_id: UUID, load_id: UUID) -> DeliveryNote | None:
    notes = unit.delivery_notes.all(firm_id, load_id=load_id)
    return max(notes, key=lambda note: (note.issued_at, note.id), default=None)

"""Tell a crew its stops of today, and of each what it needs there: nothing of the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller, Own
from service.core.crews import Crew, Vehicle
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.places import Bed, CompostSite, DestinationKind, Property
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.staleness import is_current
from service.usecases.base.use_cases import Looking
from service.usecases.day.told_routing import told_vehicle
from service.usecases.telling.told.crews import CrewStops, HomeTold, HoursTold, SiteTold
from service.usecases.telling.told.forms import plain

Members = Mapping[str, Any]

# What a routing says of a stop that is the office's: money, and who else might have got the load.
_OFFICE: Final = ("explanation", "fee_cents")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Whose:
    """A crew, or a vehicle, whose stops are asked for."""

    depot_id: UUID
    crew_id: UUID | None
    vehicle_id: UUID | None


class TellStops(Looking):
    """Read a crew's part of the newest plan; nothing is planned by it."""

    def __call__(self, caller: Caller, *, crew_id: UUID | None = None) -> dict[str, object]:
        """Return the stops of today.

        Parameters
        ----------
        crew_id
            Whose; a key of one crew or vehicle need not say it.

        Raises
        ------
        NotAllowed, RecordMissing, RecordNotUsable
        """
        with self.open_reading() as unit:
            whose = _whose(unit, caller, crew_id)
            firm = unit.firms.get(caller.firm_id)
            depot = unit.depots.get(caller.firm_id, whose.depot_id)
            if depot is None or firm is None:
                raise RecordMissing(record="depot", id=whose.depot_id)
            day = day_of(depot, self.clock.now())
            marked = unit.working_days.of(caller.firm_id, depot.id, day)
            plan = unit.day_plans.latest(caller.firm_id, depot.id, day)
            told = told_vehicle(plan, vehicle_id=whose.vehicle_id, crew_id=whose.crew_id)
            stops: Sequence[Members] = () if told is None else told["stops"]
            places = Places(unit, caller.firm_id, day, stops)
        answer: dict[str, object] = plain(
            CrewStops(
                day=day,
                depot_id=depot.id,
                crew_id=whose.crew_id,
                vehicle_id=whose.vehicle_id if told is None else UUID(told["vehicle_id"]),
                registration=None if told is None else told["registration"],
                office_phone=firm.phone,
                revision=None if plan is None else plan.revision,
                is_current=marked is not None and is_current(marked),
                aboard_now=None if told is None else told["aboard_now"],
                out=None if told is None else told.get("out"),
                stops=tuple(places.told(stop) for stop in stops),
            )
        )
        return answer


def stops_ahead(stops: Sequence[Members]) -> list[Members]:
    """Return the stops that are still ahead, or under way."""
    return [stop for stop in stops if not stop["done"] or stop.get("state") == "under_way"]


def is_past_keeping(drop: Members, now: datetime) -> bool:
    """Return whether a load on its way counts as sour by now."""
    until = drop["keeps_until"]
    return until is not None and datetime.fromisoformat(until) <= now


class Places:
    """What is needed at stops that are still ahead; each kind of place is read once."""

    def __init__(
        self, unit: UnitOfWork, firm_id: UUID, day: date, stops: Sequence[Members]
    ) -> None:
        ahead = stops_ahead(stops)
        self._day = day
        self._ahead = {id(stop) for stop in ahead}
        of_kind = {
            kind: _ids(ahead, "destination_id", kind=kind)
            for kind in (DestinationKind.BED, DestinationKind.COMPOST_SITE)
        }
        self._sites: dict[UUID, CompostSite] = unit.compost_sites.get_many(
            firm_id, of_kind[DestinationKind.COMPOST_SITE]
        )
        self._beds: dict[UUID, Bed] = unit.beds.get_many(firm_id, of_kind[DestinationKind.BED])
        named = {*_ids(ahead, "property_id"), *(bed.property_id for bed in self._beds.values())}
        self._properties: dict[UUID, Property] = unit.properties.get_many(firm_id, sorted(named))

    def told(self, stop: Members) -> dict[str, object]:
        """Return a stop without what is the office's, with its place if it is still ahead."""
        bare = {name: value for name, value in stop.items() if name not in _OFFICE}
        return {**bare, "place": plain(self.of(stop)) if id(stop) in self._ahead else None}

    def of(self, stop: Members) -> HomeTold | SiteTold | None:
        """Return what is needed at a stop that is still ahead; None where nothing is on record."""
        where = stop.get("destination_id")
        site = self._sites.get(UUID(where)) if where else None
        if site is not None:
            today = [one for one in site.hours if one.weekday == self._day.weekday()]
            return SiteTold(
                name=site.name,
                address=site.address,
                phone=site.phone,
                hours=tuple(
                    HoursTold(
                        opens=f"{one.opens:%H:%M}",
                        last_load=f"{one.last_load:%H:%M}",
                        closes=f"{one.closes:%H:%M}",
                    )
                    for one in today
                ),
                they_say=site.live_status.note,
            )
        bed = self._beds.get(UUID(where)) if where else None
        home = stop.get("property_id") if bed is None else bed.property_id
        found = None if home is None else self._properties.get(UUID(str(home)))
        if found is None:
            return None
        return HomeTold(
            name=found.name,
            address=found.address,
            access_notes=found.access_notes,
            may_sign=found.may_sign,
            bed=None if bed is None else bed.name,
            where_to_lay=None if bed is None else bed.where_to_lay,
        )


def _whose(unit: UnitOfWork, caller: Caller, crew_id: UUID | None) -> _Whose:
    """Return whose stops are asked for: of the key's own, or of the crew that is named."""
    field = caller.own_field({Own.CREW: "id", Own.VEHICLE: "id"}, what="read a crew's stops")
    if field is not None and caller.scope is not None:
        if caller.scope.own is Own.VEHICLE:
            vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, caller.scope.id)
            if vehicle is None or crew_id is not None:
                raise RecordMissing(record="crew", id=crew_id or "of this key")
            return _Whose(depot_id=vehicle.depot_id, crew_id=None, vehicle_id=vehicle.id)
        if crew_id not in {None, caller.scope.id}:
            raise RecordMissing(record="crew", id=crew_id)
        crew_id = caller.scope.id
    if crew_id is None:
        detail = "Name the crew, or ask with the key of one."
        raise RecordNotUsable([FieldFault(pointer="/crew_id", detail=detail, code="required")])
    crew: Crew | None = unit.crews.get(caller.firm_id, crew_id)
    if crew is None:
        raise RecordMissing(record="crew", id=crew_id)
    return _Whose(depot_id=crew.depot_id, crew_id=crew.id, vehicle_id=crew.vehicle_id)


def _ids(
    stops: Sequence[Members], field: str, *, kind: DestinationKind | None = None
) -> list[UUID]:
    found = {
        UUID(stop[field])
        for stop in stops
        if stop.get(field) and kind in {None, stop.get("destination_kind")}
    }
    return sorted(found)

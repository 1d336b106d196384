"""A routing as it was told, read back: what the plan before knew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID

from service.core.plans import DayPlan

Told = dict[str, Any]
Members = Mapping[str, Any]
LOAD_STANDS = "load_stands"  # the code of the warning that a load stands in a vehicle
PICK_UP = "pick_up"  # the kind of stop at which a load is forked over
LOAD_HELD = "load_held"  # the kind of stop at which held clippings are loaded by hand


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldDay:
    """Vehicles, lots, held entries and destinations of a routing, by the ids of their records.

    ``standing`` are the codes of the lots in vehicles that stand.
    """

    vehicles: dict[str, Told] = field(default_factory=dict)
    lots: dict[str, Told] = field(default_factory=dict)
    destinations: dict[str, Told] = field(default_factory=dict)
    standing: dict[str, frozenset[str]] = field(default_factory=dict)
    held: dict[str, Told] = field(default_factory=dict)
    unplaced_kg: int = 0
    local_answers: int = 0

    @classmethod
    def of(cls, plan: DayPlan | None) -> ToldDay:
        """Return what a plan told; nothing if there is none."""
        if plan is None:
            return cls()
        routing: Told = plan.routing
        return cls(
            vehicles={told["vehicle_id"]: told for told in routing["vehicles"]},
            lots={told["job_id"]: told for told in routing["lots"]},
            destinations={told["destination_id"]: told for told in routing["destinations"]},
            standing={
                told["vehicle_id"]: frozenset(told["lot_codes"])
                for told in routing["warnings"]
                if told["code"] == LOAD_STANDS
            },
            held={told["hold_entry_id"]: told for told in routing.get("held", ())},
            unplaced_kg=sum(told["mass_high_kg"] for told in routing["unplaced"]),
            local_answers=routing.get("planning", {}).get("local_answers", 0),
        )

    @staticmethod
    def load_name(vehicle_id: UUID) -> str:
        """Return what the load that stands in a vehicle is called among jobs."""
        return f"load/{vehicle_id}"

    @staticmethod
    def held_name(entry_id: UUID | str) -> str:
        """Return what an entry of the hold queue is called among jobs."""
        return f"held/{entry_id}"

    def takers(self) -> dict[str, UUID]:
        """Return who was told to take over what: jobs by their ids, loads and entries by name."""
        found: dict[str, UUID] = {}
        for told in self.vehicles.values():
            for stop in told["stops"]:
                if stop["kind"] == PICK_UP:
                    name = self.load_name(UUID(stop["taken_over_from_id"]))
                elif stop["kind"] == LOAD_HELD:
                    name = self.held_name(stop["hold_entry_id"])
                elif stop["kind"] == "job" and stop.get("taken_over_from_id"):
                    name = stop["job_id"]
                else:
                    continue
                found[name] = UUID(told["vehicle_id"])
        return found

    def lay_in(self, vehicle_id: UUID) -> frozenset[UUID]:
        """Return the jobs whose clippings were told to lie in a vehicle that stands, mixed."""
        codes = self.standing.get(str(vehicle_id), frozenset())
        return frozenset(UUID(job) for job, lot in self.lots.items() if lot["lot_code"] in codes)

    def fresh_until(self, *, after: datetime) -> datetime | None:
        """Return when the first load that is still to be tipped turns sour, later than a moment."""
        told = (
            datetime.fromisoformat(stop["keeps_until"])
            for vehicle in self.vehicles.values()
            for stop in vehicle["stops"]
            if not stop["done"] and stop.get("keeps_until")
        )
        return min((until for until in told if until > after), default=None)

    def scarcity_cents_per_t(self, destination_id: UUID) -> int:
        """Return what another tonne of room was worth at a destination."""
        return int(self.destinations.get(str(destination_id), {}).get("scarcity_cents_per_t", 0))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanHolds:
    """What ends a plan though nothing is said: few words of it, by which it need not be read again.

    ``until`` is when the first clock passes of what lies in a bay or is aboard, or when a vehicle
    that stands is back on the day; None if none does.
    """

    day: date
    planned_at: datetime
    vehicles: frozenset[str]
    until: datetime | None

    @classmethod
    def of(cls, plan: DayPlan) -> PlanHolds:
        """Return how long a plan holds."""
        told, after = ToldDay.of(plan), plan.planned_at
        lights = [one[light] for one in told.held.values() for light in ("amber_at", "red_at")]
        # A vehicle that is back after its shift stood till then.
        outs = [one["out"] for one in told.vehicles.values() if one["out"]]
        back = [one["back_at"] for one in outs if one["stands"] and one["back_at"]]
        moments = [*lights, *(at for at in back if at.startswith(plan.day.isoformat()))]
        clocks = [at for at in map(datetime.fromisoformat, moments) if at > after]
        fresh = told.fresh_until(after=after)
        return cls(
            day=plan.day,
            planned_at=after,
            vehicles=frozenset(told.vehicles),
            until=min(clocks if fresh is None else [*clocks, fresh], default=None),
        )


def told_vehicle(
    plan: DayPlan | None, *, vehicle_id: UUID | None, crew_id: UUID | None
) -> Told | None:
    """Return how a plan tells the vehicle that a crew is in; None if it does not.

    That is its usual one, or else the first that the day's jobs name it for.
    """
    if plan is None:
        return None
    routing: Told = plan.routing
    planned = [one for one in routing["vehicles"] if one["stops"] or one["out"]]
    mine: list[Told] = [one for one in planned if one["vehicle_id"] == str(vehicle_id)]
    mine += [one for one in planned if str(crew_id) in one["crew_ids"]]
    return mine[0] if mine else None


def makes_worse(routing: Members, lot: Members, way: Members) -> list[str]:
    """Return the codes of the lots that make a load count as worse than a lot that is in it.

    Parameters
    ----------
    routing
        As it was told, lately or long ago.
    lot, way
        One of its lots, and that of its ways that the load is.
    """
    worst = way.get("load_status")
    if worst in {None, lot["status"]}:
        return []
    return [
        one["lot_code"]
        for one in routing["lots"]
        if one["status"] == worst
        and any(its["load_id"] == way["load_id"] for its in one["goes_to"])
    ]

"""What lies in a bay as the planner may take it: a job at the depot that yields kilograms."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import ceil
from uuid import UUID

from service.core.measures.units import LITRES_PER_M3, SECONDS_PER_HOUR
from service.planning.model.result import Plan
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import COLLECTABLE
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.day.bodies.composition import carried_in
from service.usecases.day.bodies.pieces import LotPiece, held_pieces
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.held.clocks import too_hot_to_load
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.way_home import home_s, vehicle_of
from service.usecases.day.told_routing import ToldDay

NO_VEHICLE = "Somebody takes it, but no vehicle of the depot works on this day."
TOO_MUCH = "Somebody takes it, but it is too much for every vehicle that works on this day."
NO_TIME = (
    "Somebody takes it, but no vehicle of the day has the room and the time to load it by hand and "
    "bring it on before its shift ends."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldParcel:
    """An entry of the hold queue that may leave today.

    Attributes
    ----------
    pieces
        One for each lot in it, at the high end; they lie on one heap.
    litres_per_s
        How fast it is loaded by hand.
    """

    entry_id: UUID
    pieces: tuple[LotPiece, ...]
    litres_per_s: float

    @property
    def name(self) -> str:
        """Return what it is called among what vehicles take over."""
        return ToldDay.held_name(self.entry_id)

    def loading_s(self, volume_l: int) -> int:
        """Return how long it takes to load so many litres."""
        return ceil(volume_l / self.litres_per_s)


def parcels_of(
    facts: DayFacts, asked: Asked, *, rulebook: Rulebook, without: Collection[UUID] = ()
) -> list[HeldParcel]:
    """Return the entries that somebody takes today, by the order of their cuts: none that is hot.

    Parameters
    ----------
    without
        Entries that stay, whoever would take them.
    """
    rate = facts.rules(rulebook).row("hand_loading_m3_per_h")
    found = []
    for number, grass in enumerate(facts.held):
        pieces = held_pieces(grass, asked, key=f"H{number}")
        stays = grass.entry.id in without or too_hot_to_load(grass, facts, rulebook=rulebook)
        if not stays and _is_wanted(grass, asked):
            found.append(
                HeldParcel(
                    entry_id=grass.entry.id,
                    pieces=pieces,
                    litres_per_s=rate.value * LITRES_PER_M3 / SECONDS_PER_HOUR,
                )
            )
    return found


def _is_wanted(grass: HeldGrass, asked: Asked) -> bool:
    """Return whether a bed or a site takes all of it, mixed: a bay is where it lies."""
    said = zip(asked.destinations, asked.of_mixture(grass.lot_ids), strict=True)
    return any(ready.kind in COLLECTABLE and not verdict.refused for ready, verdict in said)


def not_taken(parcels: Sequence[HeldParcel], built: DayProblem) -> dict[UUID, str]:
    """Return why no vehicle has an entry on its list, by the entries."""
    listed = {
        p.hold_entry_id for day in built.vehicles.values() for p in day.ahead if p.lies_in_bay
    }
    why = TOO_MUCH if built.vehicles else NO_VEHICLE
    return {parcel.entry_id: why for parcel in parcels if parcel.entry_id not in listed}


def not_brought(built: DayProblem, plan: Plan) -> dict[UUID, str]:
    """Return why a plan does not bring on what is on a vehicle's list, by the entries.

    What would not be tipped is not shovelled up, and nobody works on for it after the shift.
    """
    found: set[UUID] = set()
    for answer in plan.vehicles:
        day = built.vehicles[answer.id]
        held = [(p, p.hold_entry_id) for p in day.ahead if p.lies_in_bay and p.hold_entry_id]
        entries = {piece.key: entry_id for piece, entry_id in held}
        if not entries:
            continue
        carried = carried_in(plan, answer, day)
        # Of what is aboard of the same heap the rest is no reason: it is in the body already.
        in_body = {p.hold_entry_id for p in day.aboard}
        lots = {piece.lot_id: entry_id for piece, entry_id in held if entry_id not in in_body}
        found |= {entries[key] for key in carried.on_lawns if key in entries}
        found |= {lots[lot_id] for lot_id in carried.rest if lot_id in lots}
        if home_s(built, answer) > vehicle_of(built, answer).shift_end_s:
            found |= set(entries.values())
    return dict.fromkeys(sorted(found), NO_TIME)

"""Why a lot goes elsewhere than in a routing before: the first reason that holds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from service.usecases.day.told_routing import makes_worse
from service.usecases.telling.changes.vehicle_records import vehicle_otherwise
from service.usecases.telling.told.lots import LEAVE, LEFT
from service.usecases.telling.warnings.subjects import named

Told = Mapping[str, Any]
Reason = tuple[str, str]  # code and sentence

CHEAPER: Reason = (
    "cheaper_so",
    "With the day as it is now this way costs less, moving included.",
)
TIPPED = frozenset({"delivered", "partly_refused"})
LEAST_KG = 1.0  # rooms are whole kilograms: less than one is none


def reason_of(was: Told, lot: Told, *, before: Told, after: Told) -> Reason:
    """Return why a lot moved; that it is cheaper so only where nothing else is known.

    Parameters
    ----------
    was, lot
        The lot in the routing before and in the one after.
    before, after
        Those routings, as `told_routing` tells them.
    """
    left = _ways_left(was, lot)
    return (
        _nobody(lot)
        or _tipped_by_hand(lot, before, after)
        or _stays(was, lot)
        or _other_vehicle(was, lot, before, after)
        or _bound_there(lot, before, after)
        or _refused(left, lot)
        or _mixed(was, lot, after)
        or _takes_nothing(left, after)
        or _closed(left, before, after)
        or _less_room(left, lot, before, after)
        or _lot_otherwise(was, lot)
        or vehicle_otherwise(lot, before, after)
        or _full(left, lot, after)
        or _takes_over(lot, before, after)
        or _others_bound(lot, before, after)
        or CHEAPER
    )


def shares_of(lot: Told) -> dict[str, float]:
    """Return which share of a lot goes to each destination, 0 to 1."""
    shares: dict[str, float] = {}
    for way in lot["goes_to"]:
        shares[way["destination_id"]] = shares.get(way["destination_id"], 0.0) + way["share"]
    return shares


def _nobody(lot: Told) -> Reason | None:
    """Return why no vehicle does it; a routing kept from before tells no such thing."""
    told = lot.get("needs_attention")
    return None if told is None else (told["code"], told["sentence"])


def _tipped_by_hand(lot: Told, before: Told, after: Told) -> Reason | None:
    """Return where it was tipped, if it was where no plan sent it."""
    known = _arrivals(before)
    tipped = {
        stop["load_id"]: stop
        for vehicle in after["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and stop.get("state") in TIPPED and stop["load_id"] not in known
    }
    for way in lot["goes_to"]:
        stop = tipped.get(way["load_id"])
        if stop is not None:
            at = f"{datetime.fromisoformat(stop['at']):%H:%M}"
            return (
                "tipped_by_hand",
                f"It was tipped at {way['name']} at {at}; no plan sent it there.",
            )
    return None


def _stays(was: Told, lot: Told) -> Reason | None:
    """Return why it stays on its lawn by now: advice against bagging it, or the word of people."""
    if lot["outcome"] not in LEFT or was["outcome"] in LEFT:
        return None
    if lot["outcome"] != LEAVE:
        return lot["outcome"], "Its record says that the clippings stay on the lawn."
    advice = lot["advice"]
    return None if advice is None else (advice["code"], advice["sentence"])


def _other_vehicle(was: Told, lot: Told, before: Told, after: Told) -> Reason | None:
    """Return why another vehicle has the lot, whatever becomes of it then."""
    if not is_on_another(was, lot):
        return None
    vehicles = {vehicle["vehicle_id"]: vehicle for vehicle in after["vehicles"]}
    name = vehicles[lot["vehicle_id"]]["registration"]
    giver = vehicles.get(lot["taken_over_from_id"])
    if giver is not None and giver["out"] is not None:
        at = f"{datetime.fromisoformat(giver['out']['out_since']):%H:%M}"
        is_out = f"has been out since {at}" if giver["out"]["stands"] else f"is out from {at} on"
        out = f"{giver['registration']} {is_out} ({giver['out']['reason'].rstrip('. ')})"
        return "vehicle_out", f"{out}: {name} takes this over."
    if was["taken_over_from_id"] == lot["vehicle_id"]:
        return "vehicle_back", f"{name} works again and does this itself."
    said = f"{name} has this job now."
    if lot["state"] == "mown":
        giver_name = _registrations(before)[was["vehicle_id"]]
        kg = vehicles[lot["vehicle_id"]]["aboard_now"]["mass_high_kg"]
        said += (
            f" Its clippings count as aboard {name}, no longer {giver_name}: up to {kg} kg are "
            f"aboard {name} by now. If they still lie in {giver_name}, say so."
        )
    return "other_vehicle", said


def _bound_there(lot: Told, before: Told, after: Told) -> Reason | None:
    """Return that people said where its load goes: by a choice, or from the gate."""
    had, bound = _bound(before), _bound(after)
    for way in lot["goes_to"]:
        load = (lot["lot_code"], way["destination_id"])
        if load in had or load not in bound:
            continue
        vehicle, drop = bound[load]
        if drop.get("locked"):
            return "chosen_by_hand", f"{way['name']} was chosen for this load by hand."
        at = f"{datetime.fromisoformat(drop['at_gate_at']):%H:%M}"
        seen = f"{vehicle['registration']} was seen at the gate of {way['name']} at {at}"
        return "at_gate", f"{seen}: its load stays there."
    return None


def _others_bound(lot: Told, before: Told, after: Told) -> Reason | None:
    """Return that people said where another load of its vehicle goes."""
    own, had = lot.get("vehicle_id"), _bound(before)
    new = {
        code: drop
        for (code, place), (vehicle, drop) in sorted(_bound(after).items())
        if vehicle["vehicle_id"] == own and (code, place) not in had
    }
    if not new:
        return None
    codes = ", ".join(new)
    if any(drop.get("locked") for drop in new.values()):
        why = f"The place of {codes} was chosen by hand: this goes another way, too."
        return "chosen_by_hand", why
    return "at_gate", f"{codes} is bound to the gate it was seen at: this goes another way, too."


def _bound(routing: Told) -> dict[tuple[str, str], tuple[Told, Told]]:
    """Return which lots people bind to which places, with their vehicle and its drop there."""
    return {
        (code, stop["destination_id"]): (vehicle, stop)
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and (stop.get("locked") or stop.get("at_gate_at"))
        for code in stop.get("lot_codes", ())
    }


def _mixed(was: Told, lot: Told, after: Told) -> Reason | None:
    """Return that it lies in one body with what is worse; all of that counts as the worst."""
    had = {way.get("load_status") for way in was["goes_to"]}
    for way in lot["goes_to"]:
        worst = way.get("load_status")
        if worst in {None, lot["status"], *had}:
            continue
        worse = ", ".join(makes_worse(after, lot, way)) or "what is worse"
        return "lies_mixed", f"It lies in one body with {worse}: all of it counts as {worst}."
    return None


def _takes_over(lot: Told, before: Told, after: Told) -> Reason | None:
    """Return that the lot's vehicle has others now, or no longer has some."""
    had, has = (
        {one["lot_code"]: one.get("vehicle_id") for one in routing["lots"]}
        for routing in (before, after)
    )
    own, names = lot.get("vehicle_id"), _registrations(before) | _registrations(after)
    moved = [
        code
        for code in sorted(had.keys() & has.keys())
        if None not in {had[code], has[code]} and had[code] != has[code]
    ]
    came = [code for code in moved if has[code] == own]
    went = [code for code in moved if had[code] == own]
    if came:
        givers = ", ".join(sorted({names[had[code]] for code in came}))
        what = f"{names[own]} takes over {named(came)} from {givers}"
        return "takes_over", f"{what}: its own loads go another way, too."
    if went:
        return "takes_over", f"{names[own]} no longer has {named(went)}."
    return None


def _registrations(routing: Told) -> dict[str | None, str]:
    return {vehicle["vehicle_id"]: vehicle["registration"] for vehicle in routing["vehicles"]}


def is_on_another(was: Told, lot: Told) -> bool:
    """Tell whether another vehicle has a lot; unknown of a routing kept from before."""
    before, after = was.get("vehicle_id"), lot.get("vehicle_id")
    return None not in {before, after} and before != after


def _ways_left(was: Told, lot: Told) -> list[Told]:
    """Return the ways that less of the lot goes now, each with the share it lost."""
    now = shares_of(lot)
    return [
        {**way, "share": way["share"] - now.get(way["destination_id"], 0.0)}
        for way in was["goes_to"]
        if way["share"] > now.get(way["destination_id"], 0.0)
    ]


def _refused(left: list[Told], lot: Told) -> Reason | None:
    places = {way["destination_id"] for way in left}
    for refusal in (lot["elsewhere"] or {}).get("nearest_refusals", ()):
        if refusal["destination_id"] in places:
            return refusal["code"], refusal["sentence"]
    return None


def _takes_nothing(left: list[Told], after: Told) -> Reason | None:
    rooms = _rooms(after)
    for way in left:
        if way["destination_id"] not in rooms:
            return "destination_takes_nothing", f"{way['name']} takes nothing of the day any more."
    return None


def _closed(left: list[Told], before: Told, after: Told) -> Reason | None:
    """Return that its load would have come too late; a routing kept from before tells no times."""
    rooms, arrivals = _rooms(after), _arrivals(before)
    for way in left:
        arrival = arrivals.get(way["load_id"])
        last = rooms[way["destination_id"]].get("last_arrival_at")
        if arrival is None or last is None:
            continue
        last_at = datetime.fromisoformat(last)
        if datetime.fromisoformat(arrival) > last_at:
            return "closes_earlier", f"The last load at {way['name']} is at {last_at:%H:%M} now."
    return None


def _less_room(left: list[Told], lot: Told, before: Told, after: Told) -> Reason | None:
    rooms, had_rooms = _rooms(after), _rooms(before)
    for way in left:
        room, had = rooms[way["destination_id"]], had_rooms.get(way["destination_id"])
        if had is None or room["room_high_kg"] >= had["room_high_kg"] or _fits(lot, way, room):
            continue
        why = (
            f"{way['name']} has room for {room['room_high_kg']:,} kg now; "
            f"it had room for {had['room_high_kg']:,} kg."
        )
        return "less_room", why
    return None


def _lot_otherwise(was: Told, lot: Told) -> Reason | None:
    if was["status"] != lot["status"]:
        return "lot_otherwise", f"The lot is {lot['status']} now; it was {was['status']}."
    old, new = was["mass_kg"], lot["mass_kg"]
    if not old or not new or old == new:
        return None
    why = (
        f"The lot is thought to be {new['low']:,.0f} to {new['high']:,.0f} kg now; "
        f"it was {old['low']:,.0f} to {old['high']:,.0f} kg."
    )
    return "lot_otherwise", why


def _full(left: list[Told], lot: Told, after: Told) -> Reason | None:
    rooms = _rooms(after)
    for way in left:
        if not _fits(lot, way, rooms[way["destination_id"]]):
            return "room_went_to_others", f"The room of {way['name']} went to other lots."
    return None


def _fits(lot: Told, way: Told, room: Told) -> bool:
    """Tell whether what is free now would hold what the lot no longer brings, at its high end."""
    high_kg = (lot["mass_kg"] or {"high": 0.0})["high"]
    return bool(
        room["room_high_kg"] - room["planned_high_kg"] >= max(LEAST_KG, high_kg * way["share"])
    )


def _rooms(routing: Told) -> dict[str, Told]:
    return {room["destination_id"]: room for room in routing["destinations"]}


def _arrivals(routing: Told) -> dict[str, str]:
    return {
        stop["load_id"]: stop["at"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop"
    }

"""What waits on a day's screen: clippings that are held or left, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from service.core.jobs import JobState
from service.core.loads import HoldEntry, HoldState, ReleasedAs
from service.core.mass_book import NOTHING
from service.destinations.lawn import TAKEN

Members = Mapping[str, Any]

LEFT: Final = {"left_on_lawn": "Left on the lawn", "leave_on_lawn": "To be left on the lawn"}
LEFT_FOR_HEAT: Final = frozenset({"held_hot", "held_fire_danger"})
MIXED: Final = "All of it counts as the worst that lies in it. "
FOUND: Final = {
    "litter_seen": "litter was seen in it",
    "disease_seen": "disease was seen in it",
    "weeds_in_seed": "weeds in seed were seen in it",
    "treatment_history_unknown": "nobody knows what was put on the lawn",
    "treatment_known_but_not_recorded": "what the lawn was treated with is not on record",
    "said_where_brought": "it was sent away for what was seen in it",
    "lay_in_one_body": "it lay in one body with what is worse",
    "treatment_wait": "the wait after a treatment is not over",
    "treatment_unknown": "what a treatment asks for is not known",
    "treatment_never": "a treatment closes it for good",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One of the lots of a row: its code, where it was cut, and how much of it."""

    code: str
    where: str = ""
    percent: int = 100
    status: str = "clean"


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A heap that is held or to be, or a lot that is left or has no place: why, and how much."""

    word: str
    lots: tuple[Lot, ...]
    why: str
    mass_kg: Members | None
    is_held: bool = False
    entry: HoldEntry | None = None
    takers: tuple[Members, ...] = ()
    feed: Members | None = None


def waiting_of(routing: Members, by_load: Mapping[str, HoldEntry]) -> Iterator[Waiting]:
    """Yield the day's heaps, then what lies in the bays from before, then what is left."""
    properties = {
        stop["job_id"]: stop["property"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job"
    }
    heaps: dict[str, list[tuple[Members, Members, Lot]]] = {}
    left = []
    for lot in routing["lots"]:
        told = Lot(
            code=lot["lot_code"], where=properties.get(lot["job_id"], ""), status=lot["status"]
        )
        for way in lot["goes_to"]:
            if way["destination_kind"] == "hold_bay":
                part = replace(told, percent=round(way["share"] * 100))
                heaps.setdefault(way["load_id"], []).append((lot, way, part))
        if lot["outcome"] in LEFT or lot["outcome"] == "unplaced":
            left.append(
                Waiting(
                    word=_left_word(lot), lots=(told,), why=_reason(lot), mass_kg=lot["mass_kg"]
                )
            )
    lying = {held["hold_entry_id"]: held for held in routing.get("held", ())}
    for load_id, parts in heaps.items():
        if not _is_loaded(by_load.get(load_id), lying):
            yield _heap(parts, by_load.get(load_id), lying)
    for load_id, entry in by_load.items():
        lies = entry.state is HoldState.IN_BAY and not _is_loaded(entry, lying)
        if lies and load_id not in heaps:
            yield Waiting(
                word=_held_word(entry, lying.get(str(entry.id), {}).get("hold_bay", "the bay")),
                lots=tuple(Lot(code=code) for code in entry.lot_codes),
                why=_entry_reason(entry, lying),
                **_of_entry(entry, lying),
            )
    yield from left


def _heap(
    parts: list[tuple[Members, Members, Lot]],
    entry: HoldEntry | None,
    lying: Mapping[str, Members],
) -> Waiting:
    """Return the lots of one body in one row: they leave the bay together, by one word."""
    lots = tuple(part for _, _, part in parts)
    if entry is None:
        why = " ".join(dict.fromkeys(_reason(lot) for lot, _, _ in parts))
        own: dict[str, Any] = {"is_held": True, "mass_kg": _sum_of(parts)}
    else:
        mixed = {lot.status for lot in lots} != {entry.status}
        why = f"{MIXED if mixed else ''}{_entry_reason(entry, lying)}"
        own = _of_entry(entry, lying)
    return Waiting(word=_held_word(entry, parts[0][1]["name"]), lots=lots, why=why, **own)


def _is_loaded(entry: HoldEntry | None, lying: Mapping[str, Members]) -> bool:
    """Return whether what is left of a heap is in bodies: nothing of it can leave the bay."""
    if entry is None or not entry.loadings:
        return False
    return entry.loaded_share > 1.0 - NOTHING or str(entry.id) not in lying


def _held_word(entry: HoldEntry | None, bay: str) -> str:
    """Return whether it lies there or is to come: what is not mown lies nowhere yet."""
    lies = entry is not None and entry.state is HoldState.IN_BAY
    return f"{'Held' if lies else 'To be held'}, {bay}"


def _of_entry(entry: HoldEntry, lying: Mapping[str, Members]) -> dict[str, Any]:
    """Return what still lies there of a heap, and who or what would take it."""
    held = lying.get(str(entry.id), {})
    mass, offers = entry.mass_kg, held.get("offers", ())
    return {
        "is_held": True,
        "entry": entry,
        "mass_kg": held.get("mass_kg")
        or {"low": mass.low, "likely": mass.likely, "high": mass.high},
        "takers": tuple(held.get("takers", ())),
        "feed": next((one for one in offers if one["use"] == ReleasedAs.LIQUID_FEED), None),
    }


def _sum_of(parts: list[tuple[Members, Members, Lot]]) -> Members | None:
    known = [(lot["mass_kg"], way["share"]) for lot, way, _ in parts if lot["mass_kg"]]
    if not known:
        return None
    return {
        end: sum(mass[end] * share for mass, share in known) for end in ("low", "likely", "high")
    }


def _left_word(lot: Members) -> str:
    """Return whether it was left or is to be: a lawn that is not mown has left nothing yet."""
    planned = lot["outcome"] in LEFT and lot["state"] == JobState.PLANNED
    return LEFT["leave_on_lawn"] if planned else LEFT.get(lot["outcome"], "No place")


def _entry_reason(entry: HoldEntry, lying: Mapping[str, Members]) -> str:
    """Return why it is held and until what; of a heap that is left for its heat, that."""
    why = lying.get(str(entry.id), {}).get("why", {})
    if why.get("code") in LEFT_FOR_HEAT:
        return str(why["sentence"])
    return f"{entry.reason} {entry.release_condition}"


def _reason(lot: Members) -> str:
    """Return why a lot is held or left, in one sentence."""
    need, advice = lot.get("needs_attention"), lot["advice"]
    if need is not None:
        return str(need["sentence"])
    if advice is not None and advice["code"] != TAKEN:
        return str(advice["sentence"])
    found = [_finding(finding) for finding in lot["findings"]]
    if found:
        return "; ".join(dict.fromkeys(found)).capitalize() + "."
    return "As planned." if lot["state"] == JobState.PLANNED else "As the crew recorded it."


def _finding(finding: Members) -> str:
    because = finding["facts"].get("because")
    told = FOUND.get(finding["code"], finding["code"].replace("_", " "))
    return f"{told} ({because})" if because else told

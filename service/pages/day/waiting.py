"""What waits on a day's screen: clippings that are held or left, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from service.core.jobs import JobState
from service.core.loads import HoldEntry, HoldState, ReleasedAs

Members = Mapping[str, Any]

LEFT: Final = {"left_on_lawn": "Left on the lawn", "leave_on_lawn": "To be left on the lawn"}
WHOLE: Final = 0.995  # as shares are told: this much is all of it
FOUND: Final = {
    "litter_seen": "litter was seen in it",
    "disease_seen": "disease was seen in it",
    "weeds_in_seed": "weeds in seed were seen in it",
    "treatment_history_unknown": "nobody knows what was put on the lawn",
    "treatment_known_but_not_recorded": "what the lawn was treated with is not on record",
    "treatment_wait": "the wait after a treatment is not over",
    "treatment_unknown": "what a treatment asks for is not known",
    "treatment_never": "a treatment closes it for good",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Clippings that are held or left, and why."""

    lot: str
    word: str
    where: str
    why: str
    mass_kg: Members | None
    entry: HoldEntry | None = None
    takers: tuple[Members, ...] = ()
    feed: Members | None = None


def waiting_of(routing: Members, by_load: Mapping[str, HoldEntry]) -> Iterator[Waiting]:
    """Yield the day's lots that are held or left, then what lies in the bays from before."""
    properties = {
        stop["job_id"]: stop["property"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job"
    }
    takers = {held["hold_entry_id"]: tuple(held["takers"]) for held in routing.get("held", ())}
    feeds = {
        held["hold_entry_id"]: offer
        for held in routing.get("held", ())
        for offer in held["offers"]
        if offer["use"] == ReleasedAs.LIQUID_FEED
    }
    lies = {held["hold_entry_id"]: held["mass_kg"] for held in routing.get("held", ())}
    shown = set()
    for lot in routing["lots"]:
        base = {
            "lot": lot["lot_code"],
            "where": properties.get(lot["job_id"], ""),
            "mass_kg": lot["mass_kg"],
        }
        if lot["outcome"] in LEFT or lot["outcome"] == "unplaced":
            yield Waiting(word=_left_word(lot), why=_reason(lot), **base)
        for way in lot["goes_to"]:
            if way["destination_kind"] == "hold_bay":
                entry = by_load.get(way["load_id"])
                shown.add(way["load_id"])
                able = () if entry is None else takers.get(str(entry.id), ())
                feed = None if entry is None else feeds.get(str(entry.id))
                share = way["share"] * (1.0 if entry is None else _left_of(entry, lies))
                held = {**base, "mass_kg": _part(lot["mass_kg"], share), "feed": feed}
                word = f"{'Held' if way['share'] > WHOLE else 'Held in part'}, {way['name']}"
                why = _why_held(lot, entry)
                yield Waiting(word=word, why=why, entry=entry, takers=able, **held)
    for load_id, entry in by_load.items():
        if load_id not in shown and entry.state is HoldState.IN_BAY:
            mass = entry.mass_kg.scaled(_left_of(entry, lies), unit="kg")
            yield Waiting(
                lot=", ".join(entry.lot_codes),
                word="In the bay",
                where="",
                why=_entry_reason(entry),
                mass_kg={"low": mass.low, "likely": mass.likely, "high": mass.high},
                entry=entry,
                takers=takers.get(str(entry.id), ()),
                feed=feeds.get(str(entry.id)),
            )


def _left_word(lot: Members) -> str:
    """Return whether it was left or is to be: a lawn that is not mown has left nothing yet."""
    planned = lot["outcome"] in LEFT and lot["state"] == JobState.PLANNED
    return LEFT["leave_on_lawn"] if planned else LEFT.get(lot["outcome"], "No place")


def _left_of(entry: HoldEntry, lies: Mapping[str, Members]) -> float:
    """Return the share of a heap that still lies there; all of it where nobody says otherwise."""
    left = lies.get(str(entry.id))
    return 1.0 if left is None else min(1.0, left["likely"] / max(1.0, entry.mass_kg.likely))


def _part(mass_kg: Members | None, share: float) -> Members | None:
    return None if mass_kg is None else {end: mass_kg[end] * share for end in mass_kg}


def _why_held(lot: Members, entry: HoldEntry | None) -> str:
    """Return why a lot is held; the entry speaks of the worst that lay in the body with it."""
    if entry is None:
        return _reason(lot)
    mixed = "" if lot["status"] == entry.status else "It is mixed with others aboard. "
    return mixed + _entry_reason(entry)


def _entry_reason(entry: HoldEntry) -> str:
    return f"{entry.reason} {entry.release_condition}"


def _reason(lot: Members) -> str:
    """Return why a lot is held or left, in one sentence."""
    need, advice = lot.get("needs_attention"), lot["advice"]
    if need is not None:
        return str(need["sentence"])
    if advice is not None and advice["code"] != "may_collect":
        return str(advice["sentence"])
    found = [_finding(finding) for finding in lot["findings"]]
    if found:
        return "; ".join(dict.fromkeys(found)).capitalize() + "."
    return "As planned." if lot["state"] == JobState.PLANNED else "As the crew recorded it."


def _finding(finding: Members) -> str:
    because = finding["facts"].get("because")
    told = FOUND.get(finding["code"], finding["code"].replace("_", " "))
    return f"{told} ({because})" if because else told

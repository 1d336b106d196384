"""A day's routing as the dispatcher's screen shows it: what stands where, in which words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Final

from service.core.loads import HoldEntry, HoldState
from service.pages.day.refused import refused_words
from service.usecases.base.calendar import clock_words
from service.usecases.telling.day_look import DayLook

Members = Mapping[str, Any]

# Warned of in words from here on, as the routing itself warns; see its `overflow`.
LEFT: Final = {"left_on_lawn": "Left on the lawn", "leave_on_lawn": "To be left on the lawn"}
WARNINGS: Final = {
    "vehicle_out": "Vehicle out",
    "load_stands": "A load stands",
    "nobody_takes_over": "Nobody takes over",
    "turned_away": "Sent away",
    "vehicle_may_overflow": "May be too heavy",
    "destination_may_overflow": "May not hold it all",
}
MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)")
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
WHOLE: Final = 0.995  # as shares are told: this much is all of it
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """Something that waits for a word of the dispatcher."""

    word: str
    sentence: str
    grave: bool = False
    anchor: str | None = None
    vehicle: str | None = None
    caution: str | None = None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleView:
    """One vehicle's day."""

    letter: str
    told: Members
    crews: str
    done: tuple[Members, ...]
    ahead: tuple[Members, ...]

    @property
    def id(self) -> str:
        """Its id."""
        found: str = self.told["vehicle_id"]
        return found

    @property
    def next(self) -> Members | None:
        """Where it goes next."""
        return self.ahead[0] if self.ahead else None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """Everything that is shown of a planned day."""

    decisions: tuple[Decision, ...]
    vehicles: tuple[VehicleView, ...]
    waiting: tuple[Waiting, ...]
    places: tuple[Members, ...]
    unused_places: tuple[Members, ...]
    lots: Mapping[str, Members] = field(repr=False)
    letters: Mapping[str, str] = field(repr=False)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is to be minded with the decisions, each once: in every row nobody reads it."""
        return tuple(dict.fromkeys(one.caution for one in self.decisions if one.caution))


def day_view(look: DayLook, entries: Sequence[HoldEntry]) -> DayView:
    """Return a planned day as it is shown.

    Parameters
    ----------
    look
        The day, with a plan.
    entries
        What is in the hold bays or expected there.
    """
    routing: Members = {} if look.plan is None else look.plan.routing
    vehicles = [vehicle for vehicle in routing["vehicles"] if vehicle["stops"] or vehicle["out"]]
    letters = {v["vehicle_id"]: letter_of(number) for number, v in enumerate(vehicles)}
    crews = {str(crew.id): crew for crew in look.crews}
    lots = {lot["job_id"]: lot for lot in routing["lots"]}
    by_load = {str(entry.load_id): entry for entry in entries}
    shown = tuple(
        VehicleView(
            letter=letters[vehicle["vehicle_id"]],
            told=vehicle,
            crews=", ".join(crews[key].name for key in vehicle["crew_ids"] if key in crews),
            done=tuple(stop for stop in vehicle["stops"] if stop["done"]),
            ahead=tuple(stop for stop in vehicle["stops"] if not stop["done"]),
        )
        for vehicle in vehicles
    )
    places = sorted(routing["destinations"], key=_place_order)
    return DayView(
        decisions=_gravest_first(_decisions(routing, letters), look),
        vehicles=shown,
        waiting=tuple(_waiting(routing, by_load)),
        places=tuple(p for p in places if p["loads"] or p["destination_kind"] != "bed"),
        unused_places=tuple(p for p in places if not p["loads"] and p["destination_kind"] == "bed"),
        lots=lots,
        letters=letters,
    )


def _gravest_first(found: Iterable[Decision], look: DayLook) -> tuple[Decision, ...]:
    """Return decisions as they are read: moments by the clock there, the gravest first."""
    told = [replace(one, sentence=in_words(one.sentence, look.now)) for one in found]
    return tuple(sorted(told, key=lambda one: not one.grave))


def in_words(sentence: str, now: datetime) -> str:
    """Return a sentence with its moments as the clock there shows them, with the day if another."""

    def told(found: re.Match[str]) -> str:
        at = datetime.fromisoformat(found[0]).astimezone(now.tzinfo)
        return clock_words(at, day=now.date())

    return MOMENT.sub(told, sentence)


def letter_of(number: int) -> str:
    """Return A, B, ... Z, AA, AB, ... of 0, 1, ..."""
    before, last = divmod(number, len(LETTERS))
    return (letter_of(before - 1) if before else "") + LETTERS[last]


def _place_order(place: Members) -> tuple[bool, str, str]:
    return place["destination_kind"] == "bed", place["destination_kind"], place["name"]


def _decisions(routing: Members, letters: Mapping[str, str]) -> Iterator[Decision]:
    for part in routing["unplaced"]:
        letter = letters.get(part["vehicle_id"])
        yield Decision(
            word="No place",
            sentence=(
                f"{part['mass_high_kg']:.0f} kg find no place: {refused_words(part['reasons'])}."
            ),
            grave=True,
            anchor=f"vehicle-{letter}",
            vehicle=letter,
        )
    for lot in routing["lots"]:
        need = lot.get("needs_attention")
        if need is not None:
            yield Decision(
                word=f"Lot {lot['lot_code']}",
                sentence=need["sentence"],
                grave=True,
                anchor=f"lot-{lot['lot_code']}",
            )
    for warning in routing["warnings"]:
        if warning["code"].startswith("held_") and "held" in routing:
            continue  # told below, lot by lot
        letter = letters.get(str(warning.get("vehicle_id")))
        yield Decision(
            word=WARNINGS.get(warning["code"], warning["code"].replace("_", " ").capitalize()),
            sentence=str(warning.get("why") or ""),
            anchor=None if letter is None else f"vehicle-{letter}",
            vehicle=letter,
        )
    for held in routing.get("held", ()):
        pressing = held["escalation"]
        if pressing is not None:
            yield Decision(
                word=f"In the bay, {', '.join(held['lot_codes'])}",
                sentence=" ".join((pressing["sentence"], *pressing["steps"])),
                caution=pressing["caution"],
                grave=pressing["level"] == "red",
                anchor="waiting",
            )
        if held["stays"] is not None:
            yield Decision(
                word=f"Stays in the bay, {', '.join(held['lot_codes'])}",
                sentence=held["stays"],
                anchor="waiting",
            )


def _waiting(routing: Members, by_load: Mapping[str, HoldEntry]) -> Iterator[Waiting]:
    """Yield the day's lots that are held or left, then what lies in the bays from before."""
    properties = {
        stop["job_id"]: stop["property"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job"
    }
    takers = {held["hold_entry_id"]: tuple(held["takers"]) for held in routing.get("held", ())}
    shown = set()
    for lot in routing["lots"]:
        base = {
            "lot": lot["lot_code"],
            "where": properties.get(lot["job_id"], ""),
            "mass_kg": lot["mass_kg"],
        }
        if lot["outcome"] in LEFT or lot["outcome"] == "unplaced":
            yield Waiting(word=LEFT.get(lot["outcome"], "No place"), why=_reason(lot), **base)
        for way in lot["goes_to"]:
            if way["destination_kind"] == "hold_bay":
                entry = by_load.get(way["load_id"])
                shown.add(way["load_id"])
                able = () if entry is None else takers.get(str(entry.id), ())
                held = {**base, "mass_kg": _part(lot["mass_kg"], way["share"])}
                word = f"{'Held' if way['share'] > WHOLE else 'Held in part'}, {way['name']}"
                why = _why_held(lot, entry)
                yield Waiting(word=word, why=why, entry=entry, takers=able, **held)
    for load_id, entry in by_load.items():
        if load_id not in shown and entry.state is HoldState.IN_BAY:
            mass = entry.mass_kg
            yield Waiting(
                lot=", ".join(entry.lot_codes),
                word="In the bay",
                where="",
                why=_entry_reason(entry),
                mass_kg={"low": mass.low, "likely": mass.likely, "high": mass.high},
                entry=entry,
                takers=takers.get(str(entry.id), ()),
            )


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
    return "As the crew recorded it."


def _finding(finding: Members) -> str:
    because = finding["facts"].get("because")
    told = FOUND.get(finding["code"], finding["code"].replace("_", " "))
    return f"{told} ({because})" if because else told

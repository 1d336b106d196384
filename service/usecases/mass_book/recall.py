"""Where everything of some lots is or went: for what is learned when it was tipped long ago."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordNotUsable
from service.core.jobs import Job
from service.core.loads import Load
from service.core.mass_book import AMOUNTS, ELSEWHERE, NOTHING, VEHICLE, MassBalance
from service.core.notes import DeliveryNote
from service.core.places import Client, DestinationKind, Lawn, Property
from service.core.records import Clock
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.whose_then import ClientsThen
from service.usecases.mass_book.keeping import loads_with
from service.usecases.mass_book.lay_with import lay_with
from service.usecases.mass_book.wanted_lots import Found, LotSearch, WantedLots

ADVICE = (
    "Leave it where it lies: do not dig it in, mix it, move it or carry it on, keep animals and "
    "children away and harvest nothing beside it, until we say what was found. The product's "
    "label, and local rules, go before anything said here."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """The records behind an answer."""

    found: Found
    lots: Mapping[UUID, Job]
    wanted: frozenset[UUID]
    balances: Sequence[MassBalance]
    loads: Sequence[Load]
    others: Mapping[UUID, Job]
    notes: Mapping[UUID, DeliveryNote]
    places: Mapping[UUID, Any]
    properties: Mapping[UUID, Property]
    whose: ClientsThen
    clients: Mapping[UUID, Client]
    lawns: Mapping[UUID, Lawn]
    released: Mapping[UUID, str] = field(default_factory=dict)
    mixed_in: frozenset[UUID] = frozenset()


class TraceLots:
    """Finds all bodies, places, notes and people that something of some lots came to."""

    def __init__(self, *, open_reading: OpenUnitOfWork, clock: Clock, rulebook: Rulebook) -> None:
        """Take the records, the clock, and the names of active ingredients."""
        self._open = open_reading
        self._clock = clock
        self._treatments = rulebook.treatments

    def __call__(self, caller: Caller, wanted: WantedLots) -> dict[str, object]:
        """Return where the lots are by the mass book, JSON-ready, and whom to tell what.

        It asks by index at every step: the number of statements does not grow with the book.

        Raises
        ------
        RecordNotUsable, RecordMissing, NotOnRecord
        """
        faults = wanted.faults()
        if faults:
            raise RecordNotUsable(faults)
        with self._open() as unit:
            search = LotSearch(
                unit, caller.firm_id, substances=self._treatments, now=self._clock.now()
            )
            traced = _traced(unit, caller.firm_id, search.found(wanted))
        return _told(traced, now=self._clock.now())


def _traced(unit: UnitOfWork, firm_id: UUID, found: Found) -> Traced:
    wanted = {job.id: job for job in found.lots}
    lay, since = lay_with(unit, firm_id, found.lots)
    lots = {**wanted, **lay}
    ids = sorted(lots)
    entries = unit.mass_movements.of_lots(firm_id, ids) if ids else []
    loads = loads_with(unit, firm_id, entries)
    # What was tipped of a lot before it lay with any of them was not mixed yet.
    before = {load.id for load in loads if _is_before(load, since, wanted)}
    not_mixed = {load.destination_id for load in loads if load.id in before}
    loads = [load for load in loads if load.id not in before]
    not_mixed -= {load.destination_id for load in loads}
    balances = _of_places(
        [
            balance
            for balance in (unit.mass_balances.of_lots(firm_id, ids) if ids else [])
            if balance.share > NOTHING and balance.place_id not in not_mixed
        ],
        loads,
        wanted,
    )
    # What lies in one body is mixed, before any load of it is tipped.
    beside = {
        vehicle_id: {
            one.lot_id
            for one in unit.mass_balances.at(firm_id, VEHICLE, vehicle_id)
            if one.share > NOTHING
        }
        - set(wanted)
        for vehicle_id in sorted({b.place_id for b in balances if b.place_kind == VEHICLE})
    }
    mixed = {part.job_id for load in loads for part in load.parts}.union(*beside.values())
    others = {**lay, **unit.jobs.get_many(firm_id, sorted(mixed - set(ids)))}
    places: dict[UUID, Any] = {}
    for kind in KINDS.values():
        named = sorted({load.destination_id for load in loads} | {b.place_id for b in balances})
        places |= unit.repository(kind.repository).get_many(firm_id, named)
    places |= unit.vehicles.get_many(
        firm_id, sorted({b.place_id for b in balances if b.place_kind == VEHICLE})
    )
    released = unit.hold_entries.get_many(
        firm_id, sorted({b.place_id for b in balances if b.place_kind == ELSEWHERE})
    )
    lawn_ids = {job.lawn_id for job in lots.values() if job.lawn_id is not None}
    lawn_ids |= found.lawns.keys() | {one.lawn_id for one in found.not_known}
    lawns = unit.lawns.get_many(firm_id, sorted(lawn_ids))
    properties = unit.properties.get_many(
        firm_id,
        sorted(
            {job.property_id for job in (*lots.values(), *others.values())}
            | {lawn.property_id for lawn in lawns.values()}
            | {home for place in places.values() if (home := getattr(place, "property_id", None))}
        ),
    )
    whose = ClientsThen.of(unit, firm_id, properties.values())
    notes: dict[UUID, DeliveryNote] = {}
    load_ids = tuple(sorted(load.id for load in loads))
    for note in unit.delivery_notes.all(firm_id, load_id=load_ids) if loads else ():
        kept = notes.get(note.load_id)
        if kept is None or kept.note_version < note.note_version:
            notes[note.load_id] = note
    return Traced(
        found=found,
        lots=lots,
        wanted=frozenset(wanted),
        balances=balances,
        loads=loads,
        mixed_in=frozenset(vehicle_id for vehicle_id, more in beside.items() if more),
        others=others,
        notes=notes,
        places=places,
        properties=properties,
        whose=whose,
        clients=unit.clients.get_many(firm_id, sorted(whose.all)),
        lawns=lawns,
        released={entry.id: entry.released_to or "-" for entry in released.values()},
    )


def _of_places(
    balances: Sequence[MassBalance], loads: Sequence[Load], wanted: Collection[UUID]
) -> list[MassBalance]:
    """Return what places have of the lots; of one that came with a recalled lot only that."""
    has_wanted = {balance.place_id for balance in balances if balance.lot_id in wanted}
    alone = {
        (part.job_id, load.destination_id)
        for load in loads
        if not any(part.job_id in wanted for part in load.parts)
        for part in load.parts
    }
    return [
        balance
        for balance in balances
        if balance.lot_id in wanted
        or balance.place_id not in has_wanted
        or (balance.lot_id, balance.place_id) in alone
    ]


def _is_before(load: Load, since: Mapping[UUID, datetime], wanted: Collection[UUID]) -> bool:
    ids = {part.job_id for part in load.parts}
    return not ids & set(wanted) and all(
        load.done_at is not None and load.done_at < since[job_id] for job_id in ids & since.keys()
    )


def _told(traced: Traced, *, now: datetime) -> dict[str, object]:
    places = [_told_place(traced, key, found) for key, found in _by_place(traced).items()]
    return {
        "as_of": now,
        "lots": [
            {
                "job_id": job.id,
                "lot_code": job.lot_code,
                "cut_at": job.at,
                "property": traced.properties[job.property_id].name,
                "lawn": None if job.lawn_id is None else traced.lawns[job.lawn_id].name,
                "status": job.status.value,
                "collected": job.clippings.value == "collected",
            }
            for job in sorted(traced.found.lots, key=lambda job: (job.at, job.id))
        ],
        "lawns": [
            {**_told_lawn(traced, lawn_id), "since": since}
            for lawn_id, since in sorted(traced.found.lawns.items())
        ],
        "not_known": [
            {
                "treatment_id": one.id,
                "product": one.product,
                "applied_on": one.applied_on,
                **_told_lawn(traced, one.lawn_id),
            }
            for one in sorted(traced.found.not_known, key=lambda one: (one.applied_on, one.id))
        ],
        "mixed_with": [
            {"job_id": job.id, "lot_code": job.lot_code, "status": job.status.value}
            for job in sorted(traced.others.values(), key=lambda job: job.lot_code)
        ],
        "places": places,
        "people": _people(traced, places),
    }


def _told_lawn(traced: Traced, lawn_id: UUID) -> dict[str, object]:
    lawn = traced.lawns[lawn_id]
    home = traced.properties[lawn.property_id]
    return {"lawn_id": lawn_id, "lawn": lawn.name, "property": home.name}


def _by_place(traced: Traced) -> dict[tuple[str, UUID], list[MassBalance]]:
    found: dict[tuple[str, UUID], list[MassBalance]] = defaultdict(list)
    for balance in traced.balances:
        found[balance.place_kind, balance.place_id].append(balance)
    return dict(sorted(found.items(), key=lambda item: (item[0][0], item[0][1])))


def _told_place(
    traced: Traced, key: tuple[str, UUID], found: Sequence[MassBalance]
) -> dict[str, Any]:
    kind, place_id = key
    sums = {name: sum(getattr(balance, name) for balance in found) for name in AMOUNTS}
    loads = [load for load in traced.loads if load.destination_id == place_id]
    record = traced.places.get(place_id)
    home = traced.properties.get(getattr(record, "property_id", None) or place_id)
    notes = [traced.notes[load.id] for load in loads if load.id in traced.notes]
    return {
        "kind": kind,
        "place_id": place_id,
        "name": _name(traced, kind, place_id, record),
        "address": getattr(record, "address", None) if home is None else home.address,
        "lot_codes": sorted({traced.lots[balance.lot_id].lot_code for balance in found}),
        "mixed": place_id in traced.mixed_in
        or any(balance.lot_id not in traced.wanted for balance in found)
        or any(part.job_id not in traced.wanted for load in loads for part in load.parts),
        "days": sorted({load.working_day for load in loads}),
        "loads": [{"load_id": load.id, "done_at": load.done_at} for load in loads],
        "mass_kg": {
            "low": sums["mass_low_kg"],
            "likely": sums["mass_likely_kg"],
            "high": sums["mass_high_kg"],
        },
        "counted_kg": sums["counted_kg"],
        "notes": [
            {"note_id": note.id, "number": note.number, "version": note.note_version}
            for note in sorted(notes, key=lambda note: note.number)
        ],
    }


def _name(traced: Traced, kind: str, place_id: UUID, record: Any) -> str:  # noqa: ANN401 - a place of any kind
    if kind == ELSEWHERE:
        return traced.released.get(place_id, "-")
    if kind == VEHICLE:
        return str(record.registration) if record is not None else str(place_id)
    return str(record.name) if record is not None else str(place_id)


def _people(traced: Traced, places: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return whom to tell, clients first, and what to say to each."""
    told: dict[tuple[str, str, str], dict[str, Any]] = {}
    for place in places:
        for key, who in _asked_at(traced, place):
            person = told.setdefault(key, {"role": key[0], **who, "place_ids": [], "say": []})
            person["place_ids"].append(place["place_id"])
            person["say"].append(_sentence(place))
    for person in told.values():
        person["say"].append(ADVICE)
    return [told[key] for key in sorted(told)]


def _asked_at(
    traced: Traced, place: Mapping[str, Any]
) -> Iterator[tuple[tuple[str, str, str], dict[str, Any]]]:
    """Yield whom to tell of a place, each with a key of their own; nobody for a bay or a body."""
    record: Any = traced.places.get(place["place_id"])
    if place["kind"] == DestinationKind.BED:
        home = record.property_id
        # Whose it is has it before them; whose it was may have eaten of it, or fed it.
        then = {traced.whose.on(home, day) for day in place["days"]}
        for client_id in {traced.properties[home].client_id} | then:
            client = traced.clients.get(client_id) if client_id else None
            if client is not None:
                # Two clients may have one name, and each has a telephone.
                key = "client", client.name, str(client.id)
                yield key, {"name": client.name, "phone": client.phone, "language": client.language}
    elif place["kind"] == DestinationKind.COMPOST_SITE:
        key = "compost_site", record.operator, record.phone or ""
        yield key, {"name": record.operator, "phone": record.phone, "language": None}


def _sentence(place: Mapping[str, Any]) -> str:
    mass_kg = place["mass_kg"]
    days = " and ".join(f"{day:%d %B %Y}" for day in place["days"]) or "a day before"
    return (
        f"About {place['counted_kg']:.0f} kg ({mass_kg['low']:.0f} to {mass_kg['high']:.0f} kg as "
        f"estimated) of {', '.join(place['lot_codes'])} came to {place['name']} on {days}"
        f"{', mixed with other grass' if place['mixed'] else ''}."
    )

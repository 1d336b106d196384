"""Release held clippings by hand: to a place that is asked and charged, as feed, or elsewhere."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from service.core.callers.access import ALLOWED_ACTS, Act, Caller
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable, Refusal
from service.core.loads import BY_HAND, HoldEntry, HoldState, Load, LoadState, ReleasedAs
from service.core.mass_book import NOTHING
from service.core.materials import LotStatus
from service.core.plans import Verdict
from service.core.records import Identifiers
from service.destinations.heaps import FIRE_DANGER
from service.destinations.ready import ReadyDestination
from service.destinations.set_aside import insisted_on_all, is_only_advice
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of
from service.usecases.base.lots.held_grass import HeldGrass, read_held
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.asking import ask_held
from service.usecases.day.bodies.composition import Cargo, cargo_of
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import REMEDY as REMEDY_FROZEN
from service.usecases.day.freezes import recall_of, words_of
from service.usecases.day.held.clocks import heat_reason
from service.usecases.day.reading.read_day import read_day
from service.usecases.day.reading.recent_loads import promise
from service.usecases.mass_book.heaps import heaps_of
from service.usecases.records.held.queue_states import StateNotReachable, in_bay_again
from service.usecases.records.held.release_faults import part_faults, release_faults

# Its end would be the end of what is in a body as well, and that body would count as empty.
PARTLY_ABOARD = "aboard a vehicle in part (say first where that went, or release the rest as parts)"


class ReleaseRefused(Refusal):
    """What is held may not go where it is said to have gone."""

    code = "release_refused"
    sentence = "{lots} may not go there: {why} {remedy}"


REMEDY_STRICT = "No reason sets this aside; choose another place, or correct the record."
REMEDY_ADVICE = (
    "This is advice: a dispatcher or an owner may send the same again with a Change-Reason."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """A release as it is said: the entry as it would be, by whom, when, why, and how much of it.

    ``part_kg`` is the likely mass of a part that goes to a place; None: all of it goes.
    """

    entry: HoldEntry
    caller: Caller
    now: datetime
    reason: str | None
    part_kg: float | None = None


def released(
    unit: UnitOfWork, said: Release, *, rulebook: Rulebook, identifiers: Identifiers
) -> tuple[HoldEntry, Load | None]:
    """Return the entry as released, and the load that a place is charged with, if it is one.

    Raises
    ------
    RecordNotUsable, ReleaseRefused, StateNotReachable
    """
    entry = said.entry
    as_what = as_released(entry)
    entry = replace(
        entry,
        released_as=as_what,
        released_at=entry.released_at or said.now,
        released_load_id=None,
    )
    faults = release_faults(unit, entry, now=said.now)
    facts = _day_of_bay(unit, entry, now=said.now)
    # It may have been released before: what was brought on of it the mass book knows.
    (heap,) = heaps_of(unit, entry.firm_id, [in_bay_again(entry)])
    is_aboard = any(heap.share_aboard(one) > NOTHING for one in heap.aboard)
    on_way = {load.id: load for load in (*facts.loads, *facts.under_way)}
    promise([heap], on_way.values(), day=facts.span.day, today=facts.span.day)
    lies = read_held(unit, entry.firm_id, [heap.entry], heap.gone_from(heap.in_bay))
    if not lies:
        raise StateNotReachable(state="on its way", wanted=HoldState.RELEASED.value)
    if is_aboard and said.part_kg is None:
        raise StateNotReachable(state=PARTLY_ABOARD, wanted=HoldState.RELEASED.value)
    (grass,) = lies
    if said.part_kg is not None:
        faults += part_faults(grass, said.part_kg)
    if faults:
        raise RecordNotUsable(faults)
    _refuse_frozen(entry, grass, facts)
    facts = replace(
        facts,
        held=(*(one for one in facts.held if one.entry.id != entry.id), grass),
        lot_facts=read_lot_facts(unit, entry.firm_id, [*facts.jobs, *grass.jobs]),
    )
    asked = ask_held(facts, rulebook=rulebook, at=entry.released_at)
    if as_what is ReleasedAs.PLACE:
        said = replace(said, entry=entry)
        if said.part_kg is not None:
            grass = grass.scaled(said.part_kg / grass.entry.mass_kg.likely)
        went: tuple[HoldEntry, Load | None] = _to_place(
            said, facts, grass, asked, unit=unit, identifiers=identifiers
        )
    elif as_what is ReleasedAs.LIQUID_FEED:
        went = _as_feed(entry, facts, grass, asked, rulebook=rulebook), None
    else:
        went = entry, None
    heat = heat_reason(grass, facts, rulebook=rulebook)
    if heat is not None:
        # Where it went when the fire service had it moved is kept, with that said.
        stands = heat[0] == FIRE_DANGER and as_what is not ReleasedAs.ELSEWHERE
        _refuse(said, grass, heat[1], stands)
    return went


def as_released(entry: HoldEntry) -> ReleasedAs:
    """Return how an entry left its bay: as it is said, or as what is named of it tells."""
    return entry.released_as or (
        ReleasedAs.ELSEWHERE if entry.released_to_id is None else ReleasedAs.PLACE
    )


def never_was(unit: UnitOfWork, entry: HoldEntry, now: datetime) -> Load | None:
    """Return the load of a release that is undone or corrected, as it is then; None without one.

    Raises
    ------
    StateNotReachable
        If a vehicle brought it on by a plan: then its load is corrected.
    """
    if entry.released_load_id is None:
        return None
    load = unit.loads.get(entry.firm_id, entry.released_load_id)
    if load is None or not load.is_by_hand:
        raise StateNotReachable(
            state=f"brought on by /loads/{entry.released_load_id} (correct that one)",
            wanted="released otherwise, or in the bay",
        )
    return replace(load, state=LoadState.SUPERSEDED).renewed(now)


def _refuse_frozen(entry: HoldEntry, grass: HeldGrass, facts: DayFacts) -> None:
    """Refuse to move what is recalled, wherever to, and to bring anything to a frozen bed."""
    lots = {job.id for job in grass.jobs}
    recall = recall_of(facts.recalls, place_id=entry.released_to_id, job_ids=lots)
    if recall is not None:
        raise ReleaseRefused(lots=_codes_of(grass), why=words_of(recall), remedy=REMEDY_FROZEN)


def _codes_of(grass: HeldGrass) -> str:
    return ", ".join(job.lot_code for job in grass.jobs)


def _day_of_bay(unit: UnitOfWork, entry: HoldEntry, *, now: datetime) -> DayFacts:
    bay = unit.hold_bays.get(entry.firm_id, entry.hold_bay_id)
    depot = None if bay is None else unit.depots.get(entry.firm_id, bay.depot_id)
    if depot is None:
        raise RecordMissing(record="hold bay", id=entry.hold_bay_id)
    day = day_of(depot, entry.released_at or now)
    return read_day(unit, firm_id=entry.firm_id, depot_id=depot.id, day=day, now=now)


def _to_place(
    said: Release,
    facts: DayFacts,
    grass: HeldGrass,
    asked: Asked,
    *,
    unit: UnitOfWork,
    identifiers: Identifiers,
) -> tuple[HoldEntry, Load]:
    entry = said.entry
    ready = asked.by_id.get(entry.released_to_id) if entry.released_to_id else None
    first = unit.loads.get(entry.firm_id, entry.load_id)
    if ready is None or ready.kind is not entry.released_to_kind or first is None:
        detail = "The bay's depot uses no such place."
        raise RecordNotUsable([FieldFault(pointer="/released_to_id", detail=detail)])
    cargo = cargo_of(list(zip(grass.lot_ids, grass.shares, strict=True)), asked.lots)
    against = _against(ready, grass, asked, cargo, at=entry.released_at or said.now)
    if against is not None:
        _refuse(said, grass, *against)
    load = _load(said, facts, ready, cargo, first, identifiers=identifiers)
    if against is not None:
        load = replace(load, explanation={**load.explanation, "set_aside": against[0]})
    after = replace(entry, released_to=entry.released_to or ready.name, released_load_id=load.id)
    return after, load


def _against(
    ready: ReadyDestination, grass: HeldGrass, asked: Asked, cargo: Cargo, *, at: datetime
) -> tuple[str, bool] | None:
    """Return what a place says against a heap, and whether no reason sets it aside."""
    shut = ready.shut_at(at)
    if shut is not None:
        return shut.sentence, True
    lots = (asked.lots[lot_id] for lot_id in grass.lot_ids)
    strict = insisted_on_all(lots, ready.destination, mass_kg=cargo.mass_kg.high)
    if strict is not None:
        return _told(strict, cargo), True
    too_little = ready.too_little(cargo.mass_kg)
    if too_little is not None:
        return too_little, True
    position = asked.position[ready.id]
    verdict = asked.of_mixture(grass.lot_ids)[position]
    if verdict.accepted_kg >= cargo.mass_kg.high:
        return None
    return _told(verdict, cargo), not is_only_advice(verdict)


def _told(verdict: Verdict, cargo: Cargo) -> str:
    if verdict.refused:
        return verdict.sentence
    return f"{verdict.sentence} What is to go may weigh up to {cargo.mass_kg.high:.0f} kg."


def _refuse(said: Release, grass: HeldGrass, why: str, is_strict: bool) -> None:  # noqa: FBT001 - one answer in two parts
    """Refuse, unless it is only advice and somebody who may set it aside says why."""
    may = Act.PLAN in ALLOWED_ACTS[said.caller.role] and said.reason
    if is_strict or not may:
        raise ReleaseRefused(
            lots=_codes_of(grass),
            why=why,
            remedy=REMEDY_STRICT if is_strict else REMEDY_ADVICE,
        )


def _as_feed(
    entry: HoldEntry, facts: DayFacts, grass: HeldGrass, asked: Asked, *, rulebook: Rulebook
) -> HoldEntry:
    cargo = cargo_of(list(zip(grass.lot_ids, grass.shares, strict=True)), asked.lots)
    if cargo.status is not LotStatus.CLEAN:
        raise ReleaseRefused(
            lots=_codes_of(grass),
            why=f"A liquid feed is made of clean clippings only; these are {cargo.status.value}.",
            remedy=REMEDY_STRICT,
        )
    ratio = facts.rules(rulebook).value("feed_clippings_kg_per_litre")
    mass_kg = cargo.mass_kg.likely
    told = (
        f"Liquid feed: about {mass_kg:.0f} kg in {mass_kg / ratio:.0f} L of water "
        f"({10 * ratio:g} kg to 10 L, common practice)."
    )
    return replace(entry, released_to=f"{told} {entry.released_to or ''}".rstrip())


def _load(
    said: Release,
    facts: DayFacts,
    ready: ReadyDestination,
    cargo: Cargo,
    first: Load,
    *,
    identifiers: Identifiers,
) -> Load:
    entry, at = said.entry, said.entry.released_at or said.now
    vehicle_id: UUID = entry.released_with_id or first.vehicle_id
    return Load(
        id=identifiers.next_id(),
        firm_id=entry.firm_id,
        version=1,
        created_at=said.now,
        updated_at=said.now,
        depot_id=facts.depot.id,
        working_day=facts.span.day,
        plan_id=None,
        vehicle_id=vehicle_id,
        destination_kind=ready.kind,
        destination_id=ready.id,
        state=LoadState.DELIVERED,
        sequence=0,
        arrive_at=at,
        parts=cargo.parts,
        status=cargo.status,
        mass_kg=cargo.mass_kg,
        volume_m3=cargo.volume_m3,
        nitrogen_kg=cargo.nitrogen_kg,
        done_at=at,
        fee_cents=ready.fee_cents(mass_kg=cargo.mass_kg.likely, volume_m3=cargo.volume_m3.likely),
        explanation={"chosen": f"{ready.name}. Released from the bay by hand.", BY_HAND: True},
    )

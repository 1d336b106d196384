"""Check the mass book: its sums against its entries, and its entries against the records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from service.core.evidence.evidence import Evidence
from service.core.jobs import Job
from service.core.loads import HoldEntry, Load
from service.core.mass_book import AMOUNTS, Amounts, MassBalance, MassMovement
from service.core.notes import DeliveryNote
from service.core.places import Bed, DestinationKind
from service.core.records import AnyRecord
from service.documents.facts.record import digest_of_kept
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, Repository, UnitOfWork
from service.usecases.mass_book.movements import (
    TIPPED_STATES,
    balances_of,
    movements_of,
    standing,
)
from service.usecases.mass_book.openings import opening_of

# What sums may differ by for how numbers add up; a gram.
GRAM_KG = 0.001
PAGE = 500
OF_A_BAY = (
    " Some of it was brought on from a bay, and was entered when heaps counted otherwise: send the "
    "state of a load of it again, and it is entered anew."
)


Weighed = MassBalance | Amounts


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What was looked at in a firm's book, and a sentence for each thing that differs."""

    lots: int
    entries: int
    differences: tuple[str, ...]


class CheckMassBook:
    """Work out the sums from the entries, and the entries from the records; change nothing."""

    def __init__(self, *, open_reading: OpenUnitOfWork) -> None:
        """Take the way to the records."""
        self._open = open_reading

    def __call__(self, firm_id: UUID) -> Checked:
        """Return what differs in a firm's book, all of it at one moment."""
        lots = entries = 0
        found: list[str] = []
        with self._open() as unit:
            by_job, holds = _loads_by_job(unit, firm_id)
            depots = {depot.id: depot for depot in unit.depots.all(firm_id)}
            for jobs in _pages(unit.jobs, firm_id):
                kept = _by_lot(unit, firm_id, [job.id for job in jobs])
                sums = _sums_by_lot(unit, firm_id, [job.id for job in jobs])
                for job in jobs:
                    loads = by_job[job.id]
                    bays = [load for load in loads if is_hold(load.destination_kind)]
                    entered = [entry for load in bays for entry in holds[load.id]]
                    wanted = list(movements_of(job, loads, entered, depot=depots[job.depot_id]))
                    found += _differences(_name(job), kept[job.id], wanted, sums[job.id])
                    entries += len(kept[job.id])
                    lots += bool(kept[job.id])
            for beds in _pages(unit.beds, firm_id):
                kept = _by_lot(unit, firm_id, [bed.id for bed in beds])
                sums = _sums_by_lot(unit, firm_id, [bed.id for bed in beds])
                for bed in beds:
                    said = list(opening_of(bed))
                    found += _differences(_of_bed(bed), kept[bed.id], said, sums[bed.id])
                    entries += len(kept[bed.id])
            found += _places(unit, firm_id)
            found += _otherwise_than_kept(unit, firm_id)
        return Checked(lots=lots, entries=entries, differences=tuple(found))


class RepairMassBook:
    """Write anew what is kept beside the sums of lots; entries and records stay as they are."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork) -> None:
        """Take the way to the records."""
        self._open = open_unit_of_work

    def __call__(self, firm_id: UUID) -> None:
        """Write the sums of a firm's places."""
        with self._open() as unit:
            unit.mass_balances.keep_totals_anew(firm_id)
            unit.commit()


def _places(unit: UnitOfWork, firm_id: UUID) -> Iterator[str]:
    """Yield each place whose sum is not that of its lots."""
    anew, kept = (
        {(kind, place_id): amounts for kind, place_id, amounts in found}
        for found in (
            unit.mass_balances.totals_anew(firm_id),
            unit.mass_balances.totals(firm_id),
        )
    )
    for kind, place_id in sorted(anew.keys() | kept.keys()):
        is_there, is_kept = anew.get((kind, place_id)), kept.get((kind, place_id))
        gap_kg = max(_gap(is_there, is_kept, name) for name in AMOUNTS)
        if gap_kg > GRAM_KG or is_there is None or is_kept is None:
            yield (
                f"{kind} {place_id}: the sum of all lots there is {gap_kg:.3f} off the lots; "
                "check --repair writes it anew."
            )


def _otherwise_than_kept(unit: UnitOfWork, firm_id: UUID) -> Iterator[str]:
    """Yield each closing of a day, recall and note that does not have its digest any more."""
    evidence: list[tuple[str, Evidence]] = [
        *((f"the closing of {one.day:%d %B %Y}", one) for one in unit.day_closings.all(firm_id)),
        *((f"the recall {one.id}", one) for one in unit.recalls.all(firm_id)),
    ]
    papers = [(name, one.is_as_kept) for name, one in evidence]
    for notes in _pages(unit.delivery_notes, firm_id):
        papers += [
            (f"the note {one.number}, version {one.note_version}", _is_as_issued(one))
            for one in notes
        ]
    for name, is_as_kept in papers:
        if not is_as_kept:
            yield f"{name}: what is kept of it is not what its digest was made of."


def _is_as_issued(note: DeliveryNote) -> bool:
    return digest_of_kept(note.content) == note.sha256


def _differences(
    name: str, kept: list[MassMovement], wanted: list[MassMovement], sums: list[MassBalance]
) -> Iterator[str]:
    """Yield what differs about one lot."""
    way = OF_A_BAY if any(one.from_kind == DestinationKind.HOLD_BAY for one in wanted) else ""
    stood = {entry.source: entry for entry in standing(kept)}
    says = {entry.source: entry for entry in wanted}
    for source in sorted(stood.keys() | says.keys()):
        cause, cause_id = source[0].value, source[1]
        if source not in stood:
            yield f"{name}: {cause} {cause_id} is on record and not in the book."
        elif source not in says:
            yield f"{name}: {cause} {cause_id} is in the book and not on record."
        elif not says[source].says_as(stood[source]):
            yield (
                f"{name}: {cause} {cause_id} is {stood[source].mass_likely_kg:.3f} kg in the book, "
                f"and {says[source].mass_likely_kg:.3f} kg on record, or otherwise in a word."
                f"{way}"
            )
    by_entries = {(one.place_kind, one.place_id): one for one in balances_of(kept)}
    by_sums = {(one.place_kind, one.place_id): one for one in sums}
    for place in sorted(by_entries.keys() | by_sums.keys()):
        is_there, is_kept = by_entries.get(place), by_sums.get(place)
        gap_kg = max(_gap(is_there, is_kept, name) for name in AMOUNTS)
        if gap_kg > GRAM_KG:
            yield f"{name}: the sum at {place[0]} {place[1]} is {gap_kg:.3f} off its entries."


def _gap(one: Weighed | None, other: Weighed | None, name: str) -> float:
    amounts = (0.0 if balance is None else getattr(balance, name) for balance in (one, other))
    return float(abs(next(amounts) - next(amounts)))


def _loads_by_job(
    unit: UnitOfWork, firm_id: UUID
) -> tuple[dict[UUID, list[Load]], dict[UUID, list[HoldEntry]]]:
    by_job: dict[UUID, list[Load]] = defaultdict(list)
    for load in unit.loads.all(firm_id, state=tuple(TIPPED_STATES)):
        for job_id in {part.job_id for part in load.parts}:
            by_job[job_id].append(load)
    holds: dict[UUID, list[HoldEntry]] = defaultdict(list)
    for entry in unit.hold_entries.all(firm_id):
        holds[entry.load_id].append(entry)
    return by_job, holds


def _by_lot(unit: UnitOfWork, firm_id: UUID, ids: list[UUID]) -> dict[UUID, list[MassMovement]]:
    found: dict[UUID, list[MassMovement]] = defaultdict(list)
    for entry in unit.mass_movements.of_lots(firm_id, ids):
        found[entry.lot_id].append(entry)
    return found


def _sums_by_lot(unit: UnitOfWork, firm_id: UUID, ids: list[UUID]) -> dict[UUID, list[MassBalance]]:
    found: dict[UUID, list[MassBalance]] = defaultdict(list)
    for balance in unit.mass_balances.of_lots(firm_id, ids):
        found[balance.lot_id].append(balance)
    return found


def _pages(books: Repository[AnyRecord], firm_id: UUID) -> Iterator[tuple[AnyRecord, ...]]:
    after: UUID | None = None
    while True:
        page = books.page(firm_id, filters={}, after=after, limit=PAGE)
        yield page.records
        after = page.next_after
        if after is None:
            return


def _name(job: Job) -> str:
    return f"lot {job.lot_code} (job {job.id})"


def _of_bed(bed: Bed) -> str:
    return f"bed {bed.id}"

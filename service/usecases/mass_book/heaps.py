"""Where the grass of a heap is by now: in its bay, in which body, or tipped."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from uuid import UUID

from service.core.loads import HoldEntry, HoldState, Load, LoadPart, lot_id_of
from service.core.mass_book import NOTHING
from service.core.measures.estimates import Estimate
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.keeping import loads_with
from service.usecases.mass_book.movements import TIPPED_STATES

Shares = dict[UUID, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heap:
    """Where the lots of a heap are, by lot, as shares of their jobs' clippings.

    Attributes
    ----------
    mass_kg, volume_m3
        Of all that came, by the records of now.
    jobs
        The job of each lot.
    came
        What came to the bay.
    tipped
        What was tipped elsewhere since.
    in_bay
        What lies in the bay.
    aboard
        By vehicle, what is in its body; below zero where more was tipped than was loaded.
    """

    entry: HoldEntry
    mass_kg: Estimate
    volume_m3: Estimate
    jobs: dict[UUID, UUID] = field(default_factory=dict)
    came: Shares = field(default_factory=dict)
    tipped: Shares = field(default_factory=dict)
    in_bay: Shares = field(default_factory=dict)
    aboard: dict[UUID, Shares] = field(default_factory=dict)

    @classmethod
    def of(cls, entry: HoldEntry, first: Load) -> Heap:
        """Return a heap as it is by what was loaded, before any of it was tipped.

        Parameters
        ----------
        first
            The load that came to the bay.
        """
        heap = cls(
            entry=entry,
            mass_kg=first.mass_kg.scaled(first.kept_share, unit="kg"),
            volume_m3=first.volume_m3.scaled(first.kept_share, unit="m3"),
        )
        for part in first.parts:
            lot_id = lot_id_of(part.job_id, entry.id)
            heap.jobs[lot_id] = part.job_id
            heap.came[lot_id] = heap.came.get(lot_id, 0.0) + part.share * first.kept_share
        heap.tipped.update(dict.fromkeys(heap.came, 0.0))
        left = 1.0 - entry.loaded_share
        heap.in_bay.update({lot_id: share * left for lot_id, share in heap.came.items()})
        for vehicle_id, loaded in entry.shares_loaded().items():
            heap.aboard[vehicle_id] = {one: share * loaded for one, share in heap.came.items()}
        return heap

    def parts_of(self, load: Load) -> list[LoadPart]:
        """Return the parts of a load that are of this heap."""
        return [part for part in load.parts if part.lot_id in self.came]

    def tip(self, load: Load) -> None:
        """Take off what a load that ended has left where it was brought."""
        for part in self.parts_of(load):
            share = part.share * load.kept_share
            self.tipped[part.lot_id] += share
            out_of = self.in_bay
            if self.entry.came_by_body(load):
                out_of = self.aboard.setdefault(load.vehicle_id, dict.fromkeys(self.came, 0.0))
            out_of[part.lot_id] -= share

    def promise(self, load: Load) -> None:
        """Take off what a load that is still open will bring away: out of its own body first."""
        bodies = [self.aboard.get(load.vehicle_id, {}), self.in_bay, *self.aboard.values()]
        for part in self.parts_of(load):
            share = part.share
            for shares in bodies:
                taken = min(share, max(0.0, shares.get(part.lot_id, 0.0)))
                if taken > 0.0:
                    shares[part.lot_id] -= taken
                    share -= taken

    def share_in(self, shares: Mapping[UUID, float]) -> float:
        """Return the share of a heap that shares of its lots are: of the lot with the least."""
        return min(
            (
                shares.get(lot_id, 0.0) / came
                for lot_id, came in self.came.items()
                if came > NOTHING
            ),
            default=0.0,
        )

    def share_of(self, load: Load) -> float:
        """Return the share of the heap that is in a load: of the lot of which the most is."""
        return max(
            (
                part.share / self.came[part.lot_id]
                for part in self.parts_of(load)
                if self.came[part.lot_id] > NOTHING
            ),
            default=0.0,
        )

    def gone_from(self, shares: Mapping[UUID, float]) -> Shares:
        """Return what of its lots is not there where some shares are."""
        return {lot_id: came - shares.get(lot_id, 0.0) for lot_id, came in self.came.items()}

    @property
    def share_in_bay(self) -> float:
        """Return the share of the heap that lies in its bay, 0 to 1."""
        return max(0.0, self.share_in(self.in_bay))

    def share_aboard(self, vehicle_id: UUID) -> float:
        """Return the share of the heap that is in a body."""
        return self.share_in(self.aboard.get(vehicle_id, {}))


def heaps_of(
    unit: UnitOfWork, firm_id: UUID, entries: Sequence[HoldEntry], known: Sequence[Load] = ()
) -> list[Heap]:
    """Return where some heaps are, however long ago they came. In three statements.

    Parameters
    ----------
    known
        Loads as they are by now, which the mass book does not tell of yet.
    """
    if not entries:
        return []
    came = unit.loads.get_many(firm_id, sorted({entry.load_id for entry in entries}))
    heaps = [Heap.of(entry, came[entry.load_id]) for entry in entries]
    ids = sorted({job_id for heap in heaps for job_id in heap.jobs.values()})
    loads = loads_with(unit, firm_id, unit.mass_movements.of_lots(firm_id, ids), known)
    for load in loads:
        if load.state in TIPPED_STATES:
            for heap in heaps:
                heap.tip(load)
    return heaps


def shares_of_heaps_aboard(
    heaps: Iterable[Heap], vehicle_id: UUID | None = None
) -> dict[UUID, float]:
    """Return by job the share that is of heaps and in bodies, or in one: the book has it there."""
    found: dict[UUID, float] = defaultdict(float)
    for heap in heaps:
        for one, shares in heap.aboard.items():
            for lot_id, share in shares.items() if vehicle_id in {None, one} else ():
                found[heap.jobs[lot_id]] += share
    return found


def with_some_aboard(entries: Iterable[HoldEntry]) -> list[HoldEntry]:
    """Return the entries of which anything may be in a body: once all is tipped they are over."""
    return [entry for entry in entries if entry.loadings and entry.state is HoldState.IN_BAY]


def heaps_aboard(unit: UnitOfWork, firm_id: UUID, vehicle_id: UUID | None = None) -> list[Heap]:
    """Return the heaps of which some is in a body, or in one that is named, oldest first."""
    entries = [
        entry
        for entry in with_some_aboard(unit.hold_entries.all(firm_id, state=HoldState.IN_BAY))
        if vehicle_id is None or entry.loaded_since(vehicle_id) is not None
    ]
    heaps = heaps_of(unit, firm_id, sorted(entries, key=lambda entry: (entry.cut_at, entry.id)))
    return [
        heap
        for heap in heaps
        if any(
            heap.share_aboard(one) > NOTHING
            for one in (heap.aboard if vehicle_id is None else [vehicle_id])
        )
    ]

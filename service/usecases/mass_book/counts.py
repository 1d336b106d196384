"""What of a lot counts as how much: a weight goes with what was weighed, and with nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from service.core.loads import HoldEntry, Load, LoadPart
from service.core.mass_book import NOTHING


@dataclass(frozen=True, slots=True)
class Counts:
    """By the records of a lot, how many times its likely mass some of it counts as.

    Attributes
    ----------
    loads
        Those that were tipped, by id.
    entries
        The heaps that they made in bays, by id.
    """

    job_id: UUID
    loads: Mapping[UUID, Load]
    entries: Mapping[UUID, HoldEntry]

    def entry_of(self, part: LoadPart) -> HoldEntry | None:
        """Return the heap that a part of a load was of, if it was of any."""
        return None if part.hold_entry_id is None else self.entries.get(part.hold_entry_id)

    def came_as(self, part: LoadPart) -> float:
        """Return what a part of a load counted as where it was: once its likely from a lawn."""
        entry = self.entry_of(part)
        return 1.0 if entry is None else self.lies_as(entry)

    def lies_as(self, entry: HoldEntry) -> float:
        """Return what a heap counts as: as it was weighed when it came, else as it came there."""
        load = self.loads.get(entry.load_id)
        if load is None:
            return 1.0
        kept_kg = load.mass_kg.likely * load.kept_share
        if load.weighed_net is not None and load.weight_counts and kept_kg > 0.0:
            return load.weighed_net.si_value / kept_kg
        parts = [part for part in load.parts if part.job_id == self.job_id]
        share = sum(part.share for part in parts)
        if share <= NOTHING:
            return 1.0
        return sum(part.share * self.came_as(part) for part in parts) / share

"""What lies in a depot's hold bays: each entry with what is left of the jobs it is of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import HoldEntry, LoadPart, lot_id_of
from service.usecases.base.ports.unit_of_work import UnitOfWork

# Shares are rounded to nine digits: what is less is nobody's.
NOTHING_LIES = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldGrass:
    """Clippings of one entry of the hold queue, as far as they still lie in the bay, or in a body.

    Attributes
    ----------
    entry
        Its mass and volume are of what is left.
    jobs
        Whose clippings lie there, mixed.
    shares
        What is left of each job's clippings, 0 to 1 of the job, in the order of the jobs.
    vehicle_id
        In whose body they are; None if they lie in the bay.
    """

    entry: HoldEntry
    jobs: tuple[Job, ...]
    shares: tuple[float, ...]
    vehicle_id: UUID | None = None

    @property
    def lot_ids(self) -> tuple[UUID, ...]:
        """Return the ids under which destinations are asked about it."""
        return tuple(lot_id_of(job.id, self.entry.id) for job in self.jobs)

    def scaled(self, share: float) -> HeldGrass:
        """Return a share of it, as mixed as all of it."""
        entry = self.entry
        return replace(
            self,
            entry=replace(
                entry,
                mass_kg=entry.mass_kg.scaled(share, unit="kg"),
                volume_m3=entry.volume_m3.scaled(share, unit="m3"),
            ),
            shares=tuple(share * one for one in self.shares),
        )

    @property
    def parts(self) -> tuple[LoadPart, ...]:
        """Return all of it as parts of a load."""
        return tuple(
            LoadPart(job_id=job.id, lot_code=job.lot_code, share=share, hold_entry_id=self.entry.id)
            for job, share in zip(self.jobs, self.shares, strict=True)
        )


def read_held(
    unit: UnitOfWork,
    firm_id: UUID,
    entries: Sequence[HoldEntry],
    gone: Mapping[UUID, float],
    *,
    vehicle_id: UUID | None = None,
) -> tuple[HeldGrass, ...]:
    """Return what still lies of some entries, oldest first; those brought on are left out.

    Parameters
    ----------
    gone
        By lot, the share of a job's clippings that is tipped, on its way, or will be before.
    vehicle_id
        In whose body what is left is; None: in the bay.
    """
    if not entries:
        return ()
    loads = unit.loads.get_many(firm_id, sorted({entry.load_id for entry in entries}))
    ids = {part.job_id for load in loads.values() for part in load.parts}
    jobs = unit.jobs.get_many(firm_id, sorted(ids))
    found = []
    for entry in sorted(entries, key=lambda entry: (entry.cut_at, entry.id)):
        load = loads[entry.load_id]
        brought = [
            (jobs[part.job_id], part.share * load.kept_share)
            for part in load.parts
            if part.job_id in jobs and jobs[part.job_id].estimate is not None
        ]
        left = [
            max(0.0, share - gone.get(lot_id_of(job.id, entry.id), 0.0)) for job, share in brought
        ]
        was = sum(share for _, share in brought)
        lies = sum(left) / was if was > 0.0 else 0.0
        if lies > NOTHING_LIES:
            found.append(
                HeldGrass(
                    entry=replace(
                        entry,
                        mass_kg=entry.mass_kg.scaled(lies, unit="kg"),
                        volume_m3=entry.volume_m3.scaled(lies, unit="m3"),
                    ),
                    jobs=tuple(job for job, _ in brought),
                    shares=tuple(left),
                    vehicle_id=vehicle_id,
                )
            )
    return tuple(found)

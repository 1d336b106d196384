"""Pieces of lots: what the planner sees as one job, or as one item aboard."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from uuid import UUID

from service.core.loads import lot_id_of
from service.core.places import Point
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.day.destinations import Asked


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPiece:
    """A part of one job's lot, as the planner sees one job or one item aboard.

    ``mass_kg`` and ``volume_l`` are the high end, rounded up: what limits are kept with.

    Attributes
    ----------
    taken_from
        The vehicle that is out, of which this is taken over.
    stands_at
        Where the piece lies in a vehicle that is out, ready to be forked over; None for a lawn.
    mixed
        What else is mixed in a load that is forked over: further lots and their shares.
    hold_entry_id
        The entry of the hold queue that is brought on, out of its bay or out of a body by now;
        None for anything else.
    loading_s
        How long it takes to load what stands or lies somewhere.
    goes_on
        Whether its lawn was begun with a piece before: the hours of a lawn are those of its begin.
    """

    key: str
    job_id: UUID
    share: float
    mass_kg: int
    volume_l: int
    taken_from: UUID | None = None
    stands_at: Point | None = None
    mixed: tuple[tuple[UUID, float], ...] = ()
    hold_entry_id: UUID | None = None
    loading_s: int = 0
    goes_on: bool = False

    @property
    def is_judged_apart(self) -> bool:
        """Return whether destinations are asked about the piece, not about its job alone."""
        return bool(self.mixed) or self.hold_entry_id is not None

    @property
    def lies_in_bay(self) -> bool:
        """Return whether it is to be loaded out of a bay; what was, is aboard or is forked over."""
        return self.stands_at is not None and self.taken_from is None

    @property
    def lot_id(self) -> UUID:
        """Return the id under which destinations are asked about its first lot."""
        return lot_id_of(self.job_id, self.hold_entry_id)

    @property
    def shares(self) -> tuple[tuple[UUID, float], ...]:
        """Return every lot that is in the piece, with its share of the job's clippings."""
        return ((self.lot_id, self.share), *self.mixed)

    def lying_with(self, beside: tuple[tuple[UUID, float], ...]) -> LotPiece:
        """Return the piece as it is in a body with traces of other lots."""
        return replace(self, mixed=(*self.mixed, *beside)) if self.mass_kg and beside else self

    @classmethod
    def of_visit(cls, job_id: UUID, *, key: str) -> LotPiece:
        """Return the piece of a job whose clippings stay on the lawn."""
        return cls(key=key, job_id=job_id, share=0.0, mass_kg=0, volume_l=0)


def held_pieces(grass: HeldGrass, asked: Asked, *, key: str) -> tuple[LotPiece, ...]:
    """Return held clippings as pieces, one for each lot; they lie on one heap, or in one body."""
    return tuple(
        LotPiece(
            key=f"{key}.{count}",
            job_id=job.id,
            share=share,
            mass_kg=max(1, ceil(asked.lots[lot_id].mass_kg.high * share - 1e-9)),
            volume_l=max(1, ceil(asked.lots[lot_id].volume_m3.high * 1000.0 * share - 1e-9)),
            hold_entry_id=grass.entry.id,
        )
        for count, (job, lot_id, share) in enumerate(
            zip(grass.jobs, grass.lot_ids, grass.shares, strict=True)
        )
    )

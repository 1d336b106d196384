"""What lay on a bed before the mass book began: the one entry that no lot stands behind."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time

from service.core.mass_book import BEFORE, MassMovement, MovementCause
from service.core.materials import LotStatus
from service.core.places import Bed, DestinationKind


def opening_of(bed: Bed) -> Iterator[MassMovement]:
    """Yield the entry of what was laid on a bed before the book began, if anybody said so."""
    balance = bed.opening_balance
    if balance is None:
        return
    at = datetime.combine(balance.laid_on, time(12), tzinfo=UTC)
    yield MassMovement(
        id=bed.id,
        firm_id=bed.firm_id,
        version=1,
        created_at=at,
        updated_at=at,
        cause=MovementCause.OPENING,
        cause_id=bed.id,
        lot_id=bed.id,
        lot_code=None,
        from_kind=BEFORE,
        from_id=bed.id,
        to_kind=DestinationKind.BED.value,
        to_id=bed.id,
        share=1.0,
        mass_low_kg=balance.mass_kg,
        mass_likely_kg=balance.mass_kg,
        mass_high_kg=balance.mass_kg,
        nitrogen_low_kg=balance.nitrogen_kg,
        nitrogen_likely_kg=balance.nitrogen_kg,
        nitrogen_high_kg=balance.nitrogen_kg,
        counted_kg=balance.mass_kg,
        status=LotStatus.UNKNOWN,
        happened_at=at,
        day=balance.laid_on,
    )

"""Entries of the mass book, as tests of the stores make them."""

from uuid import uuid4

from service.core.mass_book import MassMovement, MovementCause
from service.core.materials import LotStatus
from tests.database.books import DAY, NOW


def entry(books, mass_high_kg, *, day=DAY, to=None, cause=None, lot=None, **changes):
    """Return an entry of the mass book: so much of a lot, tipped on a bed."""
    return MassMovement(
        **books.base(),
        cause=MovementCause.TIPPED,
        cause_id=cause or uuid4(),
        lot_id=lot or books.jobs.id,
        lot_code="L-1",
        from_kind="vehicle",
        from_id=books.vehicles.id,
        to_kind="bed",
        to_id=to or books.beds.id,
        share=0.5,
        mass_low_kg=mass_high_kg / 4,
        mass_likely_kg=mass_high_kg / 2,
        mass_high_kg=mass_high_kg,
        nitrogen_low_kg=mass_high_kg / 400,
        nitrogen_likely_kg=mass_high_kg / 200,
        nitrogen_high_kg=mass_high_kg / 100,
        counted_kg=mass_high_kg / 2,
        status=LotStatus.CLEAN,
        happened_at=NOW,
        day=day,
        **changes,
    )

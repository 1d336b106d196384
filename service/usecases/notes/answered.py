"""An answer to a note that was answered before: the same again, or what stands and whom to call."""

from __future__ import annotations

from service.core.errors import Refusal
from service.core.notes import Acknowledgement, DeliveryNote
from service.usecases.base.calendar import depot_clock
from service.usecases.base.ports import UnitOfWork


class AlreadyAcknowledged(Refusal):
    """The note was answered before."""

    code = "already_acknowledged"
    sentence = (
        "This note was answered at {at}: {kept}. That stands, and nothing of what was sent now is "
        "kept. To correct it or to add to it, call {firm}: {phone}."
    )


def says_nothing_else(kept: Acknowledgement, said: Acknowledgement) -> bool:
    """Return whether an answer that is sent again holds nothing that is not kept."""
    pairs = [
        (getattr(kept, name), getattr(said, name))
        for name in ("name", "reason", "accepted", "remark", "accepted_share")
    ]
    return kept.receipt is said.receipt and all(new is None or new == old for old, new in pairs)


def answered_otherwise(
    unit: UnitOfWork, note: DeliveryNote, kept: Acknowledgement
) -> AlreadyAcknowledged:
    """Return the refusal of another answer: what is kept, and whom to call."""
    load = unit.loads.get(note.firm_id, note.load_id)
    depot = None if load is None else unit.depots.get(load.firm_id, load.depot_id)
    firm = unit.firms.get(note.firm_id)
    words = [kept.receipt.value.replace("_", " ")]
    words += [f"{kept.accepted_share:.0%} of it"] if kept.accepted_share is not None else []
    words += [said for said in (kept.accepted, kept.reason, kept.remark) if said]
    words += [f"signed by {kept.name}"] if kept.name else []
    return AlreadyAcknowledged(
        at=depot_clock(depot, kept.received_at),
        kept=", ".join(words),
        firm="the firm" if firm is None else firm.name,
        phone="-" if firm is None else firm.phone,
    )

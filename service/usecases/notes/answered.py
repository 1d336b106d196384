"""An answer to a note that was answered before: the same again, or what stands and whom to call."""

from __future__ import annotations

from datetime import datetime

from service.core.errors import Refusal
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.notes import Acknowledgement, DeliveryNote, Receipt
from service.usecases.base.calendar import depot_clock
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.loads.brought import brought_by, is_called_off


class AlreadyAcknowledged(Refusal):
    """The note was answered before."""

    code = "already_acknowledged"
    sentence = (
        "This note was answered at {at}: {kept}. That stands, and nothing of what was sent now is "
        "kept. To correct it or to add to it, call {firm}: {phone}."
    )


class NotBroughtYet(Refusal):
    """An answer to what is still to come says nothing of it."""

    code = "not_brought_yet"
    sentence = (
        "By what is on record this was not brought yet: it is expected at {at}. Nothing of what "
        "was sent is kept. To take none of it, answer that it is refused; to take less, or to say "
        "where it goes, call {firm}: {phone}."
    )


class CalledOff(Refusal):
    """What a note is of is not coming by it any more."""

    code = "called_off"
    sentence = (
        "This delivery was called off, and nothing of what was sent is kept. If anything was "
        "brought, call {firm}: {phone}."
    )


def refuse_too_early(
    unit: UnitOfWork, note: DeliveryNote, said: Acknowledgement, *, now: datetime
) -> None:
    """Refuse an answer of what is not there: kilograms move by a tip, and not by a wish.

    Who takes nothing may say so before, and what is written beside it is kept. After the hour at
    which it was expected it may lie there though a telephone without signal has not said so; how
    much of it stayed is asked once it is on record.

    Raises
    ------
    NotBroughtYet, CalledOff, AlreadyAcknowledged
    """
    load = unit.loads.get(note.firm_id, note.load_id)
    if load is None:
        return
    if load.state is LoadState.SUPERSEDED:
        _refuse_if_answered(unit, note, brought_by(unit, load))
    if said.receipt is Receipt.REFUSED:
        return
    expected, load = load.arrive_at, brought_by(unit, load)
    if is_called_off(unit, load):
        if said.remark is None:
            raise CalledOff(**_call(unit, note))
        return
    # Every plan may put it off; what the client read was the hour of then.
    expected = min(expected, load.arrive_at)
    is_ahead = load.state is LoadState.PLANNED and now < expected
    is_part_of_nothing = said.receipt is Receipt.PART and load.state in OPEN_LOAD_STATES
    if is_ahead or is_part_of_nothing:
        depot = unit.depots.get(load.firm_id, load.depot_id)
        raise NotBroughtYet(at=depot_clock(depot, expected), **_call(unit, note))


def _refuse_if_answered(unit: UnitOfWork, note: DeliveryNote, load: Load) -> None:
    """Refuse an answer by an old link to what was answered under its own note."""
    if load.id == note.load_id:
        return
    for other in unit.delivery_notes.all(load.firm_id, load_id=load.id):
        if other.acknowledgement is not None:
            raise answered_otherwise(unit, other, other.acknowledgement)


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
    words = [kept.receipt.value.replace("_", " ")]
    words += [f"{kept.accepted_share:.0%} of it"] if kept.accepted_share is not None else []
    words += [said for said in (kept.accepted, kept.reason, kept.remark) if said]
    words += [f"signed by {kept.name}"] if kept.name else []
    return AlreadyAcknowledged(
        at=depot_clock(depot, kept.received_at),
        kept=", ".join(words),
        **_call(unit, note),
    )


def _call(unit: UnitOfWork, note: DeliveryNote) -> dict[str, str]:
    firm = unit.firms.get(note.firm_id)
    return {
        "firm": "the firm" if firm is None else firm.name,
        "phone": "-" if firm is None else firm.phone,
    }

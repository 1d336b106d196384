"""What a load weighed when it ended, and how much of it was sent back where a part was taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.core.loads import (
    ENDED_STATES,
    OPEN_LOAD_STATES,
    Load,
    LoadState,
    TicketReview,
)
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.loads.tickets import with_gate_ticket


def weighed_at_its_end(unit: UnitOfWork, old: Load, new: Load, changes: Mapping[str, Any]) -> Load:
    """Return a load whose state changes, with the ticket of its gate and the part that stayed."""
    if old.state in OPEN_LOAD_STATES and new.state in ENDED_STATES:
        old = with_gate_ticket(unit, replace(old, done_at=new.done_at))
        if new.weighed_net is None:
            new = replace(new, weighed_net=old.weighed_net, weigh_ticket=old.weigh_ticket)
    return _with_part(old, new, changes)


def _with_part(old: Load, new: Load, changes: Mapping[str, Any]) -> Load:
    """Return a load of which a part is said to have stayed, with its share and what weighs it.

    Whoever weighs what stayed need not guess its share: it is of what the gate weighed as it came,
    else of what was likely aboard. A weight from before is of all that came: it stays on record,
    and counts for nothing of a part.
    """
    if new.state is not LoadState.PARTLY_REFUSED or old.state is LoadState.PARTLY_REFUSED:
        return new
    stayed, came = changes.get("weighed_net"), old.weighed_net
    if stayed is None:
        return new if came is None else replace(new, ticket_review=TicketReview.SET_ASIDE)
    if changes.get("refused_share") is not None:
        return new
    is_of_all = came is not None and old.state in OPEN_LOAD_STATES
    came_kg = came.si_value if came is not None and is_of_all else new.mass_kg.likely
    share = 1.0 - stayed.si_value / came_kg if came_kg > 0.0 else 0.0
    return replace(new, refused_share=max(share, 0.0))

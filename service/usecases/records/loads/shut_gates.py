"""What stood against a tip at its gate as it was recorded: it waits until somebody settles it.

What a gate says of itself is of its day: on the next one nobody could tell any more what it was.
"""

from __future__ import annotations

from dataclasses import replace
from zoneinfo import ZoneInfo

from service.core.acceptance.live_status import AgainstGate
from service.core.errors import FieldFault
from service.core.loads import Load
from service.core.places import CompostSite, DestinationKind
from service.destinations.laid.tipped import as_known_by, let_in
from service.destinations.sites.gate import Gate
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.mass_book.settled import came_at


def gate_at(site: CompostSite, load: Load) -> Gate:
    """Return the gate of a site as a load came, by its terms of that day."""
    came = came_at(load)
    day = came.astimezone(ZoneInfo(site.time_zone)).date()
    return Gate(site=as_known_by(site.as_on(day), came), day=day, now=came)


def with_gate_asked(unit: UnitOfWork, old: Load | None, load: Load) -> Load:
    """Return a load with what stood against it at its gate; what was settled of it stays so."""
    if load.destination_kind is not DestinationKind.COMPOST_SITE:
        return load
    if load.state not in TIPPED_STATES or let_in(load):
        return replace(load, against_gate=None)
    is_as_before = old is not None and old.state in TIPPED_STATES and old.done_at == load.done_at
    if is_as_before and old is not None and not (let_in(old) and not let_in(load)):
        return load
    site = unit.compost_sites.get(load.firm_id, load.destination_id)
    if site is None:
        return load
    gate = gate_at(site, load)
    if gate.closed_day() or gate.closed_hour():
        return replace(load, against_gate=AgainstGate.OUTSIDE_HOURS)
    said = AgainstGate.SAID_CLOSED if gate.says_closed() else None
    return replace(load, against_gate=said)


def settling_faults(old: Load, new: Load) -> list[FieldFault]:
    """Return a fault if nothing is there to settle, or another word is said than that it is."""
    if new.against_gate is old.against_gate:
        return []
    if new.against_gate is AgainstGate.SETTLED and old.against_gate is not None:
        return []
    detail = "Only `settled`, of a tip against which something stood at its gate."
    return [FieldFault(pointer="/against_gate", detail=detail)]

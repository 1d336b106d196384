"""An open recall follows its lots: where one is tipped since, the place is frozen and called."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from service.core.evidence.recalls import BroughtSince, Recall
from service.core.loads import Load
from service.core.places import DestinationKind
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.destination_kinds import KINDS, is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.freezes import read_recalls
from service.usecases.mass_book.recall import ADVICE
from service.usecases.records.held.queue_states import STAYED_STATES


def follow_recalls(unit: UnitOfWork, load: Load, *, now: datetime) -> None:
    """Let each open recall of any lot of a load that was just tipped know where it lies."""
    if load.state not in STAYED_STATES or is_hold(load.destination_kind):
        return
    depot = find_depot(unit, load.firm_id, load.depot_id)
    grown = False
    for recall in read_recalls(unit, depot, [], [load]):
        codes = recall.codes_in(load)
        if load.id in recall.load_ids or not codes:
            continue
        kept = unit.recalls.get(load.firm_id, recall.id)
        if kept is None:
            continue
        bed_ids = set(kept.bed_ids)
        if load.destination_kind is DestinationKind.BED:
            bed_ids.add(load.destination_id)
        on = day_of(depot, load.done_at or now)
        after: Recall = replace(
            kept,
            bed_ids=tuple(sorted(bed_ids)),
            load_ids=tuple(sorted({*kept.load_ids, load.id})),
            brought_since=(
                *kept.brought_since,
                _brought(unit, load, ", ".join(codes), on=f"{on:%d %B %Y}", at=now),
            ),
        ).renewed(now)
        unit.recalls.replace(after, expected_version=kept.version)
        grown = True
    if grown:
        # Whatever is planned to that place, at any depot: it is still yesterday in the west.
        from_day = now.date() - timedelta(days=1)
        unit.working_days.bump(load.firm_id, depot_id=None, from_day=from_day, to_day=None)


def _brought(unit: UnitOfWork, load: Load, codes: str, *, on: str, at: datetime) -> BroughtSince:
    """Return what came to a place since, and whom to tell: its client, or its operator."""
    repository = unit.repository(KINDS[load.destination_kind].repository)
    place = repository.get(load.firm_id, load.destination_id)
    home = unit.properties.get(load.firm_id, getattr(place, "property_id", None) or load.id)
    client = None if home is None else unit.clients.get(load.firm_id, home.client_id)
    mass_kg = load.mass_kg
    came = (
        f"About {mass_kg.likely:.0f} kg ({mass_kg.low:.0f} to {mass_kg.high:.0f} kg as estimated) "
        f"with {codes} in it came to {place.name if place else 'you'} on {on}."
    )
    return BroughtSince(
        load_id=load.id,
        place_id=load.destination_id,
        at=at,
        role="compost_site" if client is None else "client",
        name=getattr(place, "operator", "-") if client is None else client.name,
        phone=getattr(place, "phone", None) if client is None else client.phone,
        language=None if client is None else client.language,
        say=(came, ADVICE),
    )

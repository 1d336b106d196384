"""Read everybody and everything that a load's delivery note names."""

from __future__ import annotations

from datetime import datetime

from service.core.errors import RecordMissing
from service.core.loads import Load
from service.destinations.bed import BedDestination
from service.destinations.beds.hours import hours_on
from service.destinations.layer_depth import layer_depths
from service.destinations.lots import as_smelt
from service.destinations.weighed import as_weighed, weighed_parts
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.misplaced.over_limits import over_limit
from service.usecases.day.reading.read_day import read_met
from service.usecases.notes.called_back import is_called_back
from service.usecases.notes.origins import Parties


def read_parties(unit: UnitOfWork, load: Load, *, rulebook: Rulebook, now: datetime) -> Parties:
    """Return everybody and everything a load's note names."""
    firm_id = load.firm_id
    day = read_met(unit, load, now=now)
    bed = next((bed for bed in day.beds if bed.id == load.destination_id), None)
    if bed is None:
        raise RecordMissing(record="bed", id=load.destination_id)
    place = day.properties[bed.property_id]
    client = unit.clients.get(firm_id, place.client_id)
    firm = unit.firms.get(firm_id)
    vehicle = unit.vehicles.get(firm_id, load.vehicle_id)
    if client is None or firm is None or vehicle is None:
        raise RecordMissing(record="party to the note", id=load.id)
    found = unit.jobs.get_many(firm_id, [part.job_id for part in load.parts])
    jobs = [found[part.job_id] for part in load.parts]
    lot_facts = read_lot_facts(unit, firm_id, jobs)
    comes_at = load.done_at or max(now, load.arrive_at)
    here = RulesHere(rulebook, load.working_day, day.depot.jurisdiction)
    destination = BedDestination(
        bed,
        point=day.points[bed.id],
        ledger=day.ledgers[bed.id],
        depths=layer_depths(here=here),
        here=here,
        shut=hours_on(bed, load.working_day, day.depot).shut_from(comes_at),
    )
    lots = [
        lot_facts.lot_of(as_smelt(job, comes_at), rulebook=rulebook, at=comes_at) for job in jobs
    ]
    weighed = weighed_parts(load, found)
    offered = [as_weighed(lot, weighed).offered_to(bed.property_id) for lot in lots]
    return Parties(
        firm=firm,
        client=client,
        place=place,
        bed=bed,
        depot=day.depot,
        vehicle=vehicle,
        crew=day.crews.get(load.crew_id) if load.crew_id else None,
        load=load,
        jobs=jobs,
        lot_facts=lot_facts,
        called_back=is_called_back(load, jobs, day, lot_facts, rulebook=rulebook),
        over=over_limit(load, day, rulebook=rulebook),
        room_kg=min(destination.yearly_room_kg(lot) for lot in offered),
        refusals=tuple(
            verdict.sentence for lot in offered if (verdict := destination.verdict(lot)).refused
        ),
    )

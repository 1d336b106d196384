"""Find the world of an earlier demo in its records again."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from sqlalchemy import Engine

from service.core.callers.access import Firm
from service.core.notes import DeliveryNote
from service.core.places import Depot
from service.core.plans import DayPlan, WorkingDay
from service.demo.clock import ClockIdentifiers, DemoClock
from service.demo.story import FIRM, FORGOTTEN, GATES, house_address
from service.demo.world import World, moment_of, new_key, other_keys
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.base.ports.unit_of_work import UnitOfWork

CREW: Final = "Robin"


class NothingKept(Exception):
    """There is no earlier demo in the folder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    firm: Firm
    depot: Depot
    working_day: WorkingDay
    plan: DayPlan
    open_note: DeliveryNote


def kept_world(engine: Engine, *, clock: DemoClock) -> World:
    """Return the world that is kept, with a new key; the clock goes on where it stopped.

    Raises
    ------
    NothingKept
    """
    opener = unit_of_work_opener(engine)
    with opener() as unit:
        found = _find(unit)
        clock.move_to(max(moment_of(found.plan.day), found.plan.planned_at))
        crew = unit.crews.all(found.firm.id, name=CREW)[0]
        site_id = unit.compost_sites.all(found.firm.id, name=GATES[0].name)[0].id
        lawn_id = _forgotten_lawn(unit, found.firm.id)
    identifiers = ClockIdentifiers(clock, make_tail=secrets.token_bytes)
    key = new_key(opener, found.firm.id, clock=clock, identifiers=identifiers)
    if crew.vehicle_id is None:
        raise NothingKept("The crew of the story has no vehicle any more; begin afresh.")
    return World(
        firm_id=found.firm.id,
        depot_id=found.depot.id,
        day=found.plan.day,
        plan=found.plan,
        open_note_id=found.open_note.id,
        forgotten_lawn_id=lawn_id,
        crew_id=crew.id,
        site_id=site_id,
        vehicle_id=crew.vehicle_id,
        now=clock.now(),
        secret=key.secret,
        other_secrets=other_keys(
            opener, found.firm.id, clock=clock, identifiers=identifiers, crew_id=crew.id
        ),
    )


def _find(unit: UnitOfWork) -> _Found:
    firms = [firm for firm in unit.firms.all() if firm.name == FIRM.name]
    if not firms:
        raise NothingKept("There is no earlier demo in this folder; leave out --keep to begin.")
    firm = firms[0]
    depot = unit.depots.all(firm.id)[0]
    planned = [day for day in unit.working_days.all(firm.id, depot_id=depot.id) if day.plan_id]
    working_day = max(planned, key=lambda day: day.day)
    plan = unit.day_plans.latest(firm.id, depot.id, working_day.day)
    notes = unit.delivery_notes.all(firm.id)
    if plan is None or not notes:
        raise NothingKept("The earlier demo in this folder was never finished; begin afresh.")
    return _Found(
        firm=firm,
        depot=depot,
        working_day=working_day,
        plan=plan,
        open_note=max(notes, key=lambda note: note.issued_at),
    )


def _forgotten_lawn(unit: UnitOfWork, firm_id: UUID) -> UUID:
    address = house_address(*FORGOTTEN.house)
    place = next(found for found in unit.properties.all(firm_id) if found.address == address)
    return unit.lawns.all(firm_id, property_id=place.id)[0].id

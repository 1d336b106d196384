"""Vehicles that went out on a day before, of which nobody said since that they are back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import chain
from uuid import UUID

from service.core.crews import VehicleOutage
from service.core.loads import LoadState
from service.core.places import Depot
from service.usecases.base.calendar import DaySpan
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import lasts_the_day


def outages_on(unit: UnitOfWork, firm_id: UUID, span: DaySpan) -> list[VehicleOutage]:
    """Return what is on record as out on a day: of the day itself, and what goes on into it.

    Until an hour that was said a vehicle is out, however far off that is; where none was said,
    until it works again or somebody says so: nobody forgets it. Without an outage that has no end
    nothing is asked of what vehicles did since.
    """
    recent = unit.vehicle_outages.up_to(firm_id, span.day, back_after=span.start)
    of_day = [one for one in recent if one.day == span.day]
    newest: dict[UUID, VehicleOutage] = {}
    for one in sorted(recent, key=lambda one: one.out_since):
        newest[one.vehicle_id] = one
    earlier = [one for one in newest.values() if one.day < span.day]
    open_ones = [one for one in earlier if one.back_at is None]
    worked = _worked_since(unit, firm_id, open_ones, span) if open_ones else set()
    goes_on = [
        one
        for one in earlier
        if (one.back_at is None and one.vehicle_id not in worked)
        or (one.back_at is not None and one.back_at > span.start)
    ]
    return [*goes_on, *of_day]


def outage_of(
    outages: Iterable[VehicleOutage],
    vehicle_id: UUID,
    *,
    depot: Depot,
    span: DaySpan,
    now: datetime,
) -> VehicleOutage | None:
    """Return why a vehicle does no more on a day, or why it waits; None if it is not out by now."""
    own = [one for one in outages if one.vehicle_id == vehicle_id]
    for_the_day = (one for one in own if lasts_the_day(one, depot, span, now))
    waits = (one for one in own if one.back_at is not None and one.back_at > now)
    return next(chain(for_the_day, waits), None)


def _worked_since(
    unit: UnitOfWork, firm_id: UUID, outages: Sequence[VehicleOutage], span: DaySpan
) -> set[UUID]:
    """Return the vehicles that mowed, tipped or set off since they went out: they were back."""
    ids = sorted(one.vehicle_id for one in outages)
    first = min(one.out_since for one in outages)
    cuts = unit.jobs.last_cuts(firm_id, ids, since=first, before=span.end)
    tips = unit.loads.last_tips(firm_id, ids, since=first, before=span.end)
    # What was on its way as it broke down is not: it stands.
    set_off = {
        (load.vehicle_id, load.working_day)
        for load in unit.loads.all(firm_id, state=LoadState.UNDER_WAY)
        if load.working_day <= span.day
    }
    return {
        one.vehicle_id
        for one in outages
        if any(last.get(one.vehicle_id, first) > one.out_since for last in (cuts, tips))
        or any(who == one.vehicle_id and on > one.day for who, on in set_off)
    }

"""What a site charges for a load: by its weighbridge, once a weight counts."""

from __future__ import annotations

from dataclasses import replace
from math import isclose

from service.core.acceptance.fees import Fee, FeeBasis
from service.core.loads import Load
from service.core.places import CompostSite
from service.destinations.ready import charged_cents
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.held.queue_states import STAYED_STATES


def as_charged_at_its_end(unit: UnitOfWork, before: Load, load: Load) -> Load:
    """Return a load with what it is charged once it was tipped; until then it keeps its plan's.

    A tip that was none has its plan's again: what a weight had made of it goes with the weight.
    """
    if before.state not in STAYED_STATES and load.state not in STAYED_STATES:
        return load
    was, is_now = (one if one.state in STAYED_STATES else _to_come(one) for one in (before, load))
    return replace(load, fee_cents=as_charged(unit, was, is_now).fee_cents)


def _to_come(load: Load) -> Load:
    return replace(load, weighed_net=None, weigh_ticket=None, refused_share=0.0)


def as_charged(unit: UnitOfWork, before: Load, load: Load) -> Load:
    """Return a load with the fee of what counts of it by now, if that is another amount.

    Else it keeps the fee it has: what a site asks for today is not what it asked for then. Where
    it asks for something else by now, the fee moves in proportion.
    """
    # Shares are rounded to nine digits, and sums with them.
    weighs_as_before = isclose(before.counted_kg, load.counted_kg, rel_tol=1e-6)
    fills_as_before = isclose(_kept_m3(before), _kept_m3(load), rel_tol=1e-6)
    if weighs_as_before and fills_as_before:
        return load
    fee = _fee_at(unit, load)
    if fee is None or before.fee_cents == _cents(fee, before) or before.fee_cents == 0:
        return charged(unit, load)
    if _cents(fee, before) == _cents(fee, load) == fee.minimum_cents:
        return load  # the least it asks for, whatever that was then
    was, is_now = (
        {
            FeeBasis.PER_TONNE: one.counted_kg,
            FeeBasis.PER_M3: _kept_m3(one),
            FeeBasis.PER_LOAD: 1.0,
        }[fee.basis]
        for one in (before, load)
    )
    return replace(load, fee_cents=round(before.fee_cents * is_now / was)) if was else load


def charged(unit: UnitOfWork, load: Load) -> Load:
    """Return a load with what its place asks for what counts of it; beds and bays ask nothing."""
    return replace(load, fee_cents=_cents(_fee_at(unit, load), load))


def _fee_at(unit: UnitOfWork, load: Load) -> Fee | None:
    kind = KINDS[load.destination_kind]
    place = unit.repository(kind.repository).get(load.firm_id, load.destination_id)
    return place.as_on(load.working_day).fee if isinstance(place, CompostSite) else None


def _cents(fee: Fee | None, load: Load) -> int:
    return charged_cents(fee, mass_kg=load.counted_kg, volume_m3=_kept_m3(load))


def _kept_m3(load: Load) -> float:
    return load.volume_m3.likely * load.kept_share

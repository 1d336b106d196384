"""Loads and plans as they are read, also those that a later plan superseded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, fields, replace
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller, Own, Scope
from service.core.errors import Refusal
from service.core.loads import Load, LoadState
from service.core.plans import DayPlan
from service.usecases.base.ports.unit_of_work import Page, UnitOfWork
from service.usecases.day.problem.locks import share_a_lot
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.own_vehicle import find_load, own_vehicle_id

# What was turned away has nothing in it any more.
EMPTY_STATES = frozenset({LoadState.SUPERSEDED, LoadState.REFUSED})


class NoLongerPlanned(Refusal):
    """What took the place of a load is what is tipped."""

    code = "no_longer_planned"
    sentence = (
        "A load that is superseded cannot become {wanted}: {where}. Say it of what took its place."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadWithSuccessors(Load):
    """A superseded load, with the loads that its lots are in since."""

    successor_ids: tuple[UUID, ...] = ()


class KeepPlans(KeepRecords[DayPlan]):
    """Read plans: one that was superseded long ago has its figures alone."""

    def _find(self, unit: UnitOfWork, caller: Caller, record_id: UUID) -> DayPlan:
        """Return the plan, whole. Raises RecordMissing, PlanForgotten."""
        return super()._find(unit, caller, record_id).whole()


class KeepLoads(KeepRecords[Load]):
    """Read loads, and what took their place: those of the caller, and in its vehicle."""

    def _find(self, unit: UnitOfWork, caller: Caller, record_id: UUID) -> Load:
        return find_load(unit, caller, record_id)

    def page(
        self,
        caller: Caller,
        *,
        filters: Mapping[str, object],
        after: UUID | None = None,
        limit: int = 50,
        seen_by: UnitOfWork | None = None,
    ) -> Page[Load]:
        """Return a page of loads: a crew's also of those in its vehicle, whoever mowed them.

        Raises
        ------
        NotAllowed
        """
        read = super().page
        with self.open_reading() if seen_by is None else nullcontext(seen_by) as unit:
            asked: dict[str, Any] = {"after": after, "limit": limit, "seen_by": unit}
            own = read(caller, filters=filters, **asked)
            is_crews = caller.scope is not None and caller.scope.own is Own.CREW
            vehicle_id = own_vehicle_id(unit, caller) if is_crews else None
            if vehicle_id is None:
                return own
            as_vehicle = replace(caller, scope=Scope(own=Own.VEHICLE, id=vehicle_id))
            pages = own, read(as_vehicle, filters=filters, **asked)
        found = {load.id: load for page in pages for load in page.records}
        ids = sorted(found)[:limit]
        is_more = len(found) > limit or any(page.next_after is not None for page in pages)
        return Page(
            records=tuple(found[one] for one in ids), next_after=ids[-1] if is_more else None
        )

    def seen(self, caller: Caller, record: Load) -> Load:
        """Return a load as the caller may see it, with its successors."""
        if record.state is not LoadState.SUPERSEDED:
            return super().seen(caller, record)
        with self.open_reading() as unit:
            return self._told(unit, caller, [record])[0]

    def _told(self, unit: UnitOfWork, caller: Caller, records: Sequence[Load]) -> list[Load]:
        bare = [super(KeepLoads, self).seen(caller, record) for record in records]
        found = successors_of(unit, bare)
        return [
            LoadWithSuccessors(**_members(load), successor_ids=found[load.id])
            if load.id in found
            else load
            for load in bare
        ]


def successors_of(unit: UnitOfWork, loads: Sequence[Load]) -> dict[UUID, tuple[UUID, ...]]:
    """Return by superseded load those since that have any of its lots in them by now."""
    gone = [load for load in loads if load.state is LoadState.SUPERSEDED]
    if not gone:
        return {}
    found: list[Load] = unit.loads.all(
        gone[0].firm_id,
        lot_code=tuple(sorted({part.lot_code for load in gone for part in load.parts})),
        state=tuple(state for state in LoadState if state not in EMPTY_STATES),
    )
    return {
        load.id: tuple(
            sorted(
                one.id
                for one in found
                if one.created_at >= load.created_at and share_a_lot(one, load)
            )
        )
        for load in gone
    }


def where_now(unit: UnitOfWork, load: Load) -> str:
    """Return in words where the lots of a superseded load are by now."""
    ids = successors_of(unit, [load]).get(load.id)
    if not ids:
        return "its lots are in no load now; the day's routing tells where they are"
    return f"its lots are in {', '.join(f'/loads/{one}' for one in ids)} now"


def _members(load: Load) -> dict[str, Any]:
    return {one.name: getattr(load, one.name) for one in fields(load)}

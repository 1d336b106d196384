"""Choose a place by hand: asked and planned like any other, kept as a lock, told what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable, Refusal
from service.core.loads import Load, LoadPart, LoadState
from service.core.records import NOBODY, Identifiers
from service.destinations.ready import ReadyDestination
from service.usecases.base.calendar import day_of
from service.usecases.base.staleness import touch_day
from service.usecases.day.asking import ask_day
from service.usecases.day.bodies.composition import cargo_of
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.locks import ended, locks_on, share_a_lot
from service.usecases.day.reading.read_day import read_day
from service.usecases.planning.choice_locks import moved_locks
from service.usecases.planning.choice_mixture import drawn_in, tipped_kg
from service.usecases.planning.choice_refusals import (
    AdviceAgainst,
    NotToBeChosen,
    TipNotPossible,
    TooLittleCounted,
    WouldSpoil,
    advice_against,
    refuse_strictly,
    refuse_unnamed,
)
from service.usecases.planning.dependencies import DayPlanning
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.records.amending import amendment_of
from service.usecases.records.loads.keep_loads import where_now
from service.usecases.telling.told.choices import ChoiceTold, CostTold, SetAside


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A place that was chosen: ``load`` carries the lock, and would where it is only asked."""

    load: Load
    told: ChoiceTold


class ChoosePlace(DayPlanning):
    """Ask a place, plan the day with it, and keep the choice as a lock if somebody means it."""

    def __call__(
        self,
        caller: Caller,
        *,
        destination_id: UUID,
        load_id: UUID | None = None,
        job_id: UUID | None = None,
        reason: str | None = None,
        only_ask: bool = False,
        move_locks: bool = False,
        identifiers: Identifiers | None = None,
    ) -> Choice:
        """Return the choice and what it costs; it is kept unless it is only asked.

        Parameters
        ----------
        reason
            Why advice is set aside, in words.
        move_locks
            Whether locks on other grass may be moved, too.

        Raises
        ------
        RecordMissing, RecordNotUsable, NotToBeChosen, PlaceRefused, AdviceAgainst, TipNotPossible,
        TooLittleCounted, WouldSpoil, LockedWithOthers
        """
        wish_id = (identifiers or self.identifiers).next_id()
        facts, load, kept = self._read(caller, load_id=load_id, job_id=job_id, wish_id=wish_id)
        asked = ask_day(facts, rulebook=self.rulebook)
        load = load or _of_lot(facts, asked, job_id or NOBODY)
        ready = asked.by_id.get(destination_id)
        if ready is None:
            detail = f"There is no such place with the id {destination_id} on this day."
            raise RecordNotUsable(
                [FieldFault(pointer="/destination_id", detail=detail, code="reference_missing")]
            )
        refuse_strictly(load, ready, asked)
        against = advice_against(load, ready, asked)
        wish = replace(
            load,
            id=wish_id,
            version=1,
            created_at=facts.now,
            updated_at=facts.now,
            destination_kind=ready.kind,
            destination_id=ready.id,
            state=LoadState.SUPERSEDED,
            locked=True,
            override_reason=(reason or "") if against else None,
            chosen_by_id=caller.key_id,
            at_gate_at=load.at_gate_at if ready.id == load.destination_id else None,
            fee_cents=ready.fee_cents(mass_kg=load.mass_kg.likely, volume_m3=load.volume_m3.likely),
            explanation={},
        )
        before, after = self._planned(facts, wish, ready, is_kept=kept)
        mixed = drawn_in(wish, job_id=job_id, before=before, after=after)
        spoiled = [one.lot_code for one in mixed if one.is_spoiled and one.was_for_a_bed]
        if spoiled and not kept:
            raise WouldSpoil(lots=", ".join(spoiled), place=ready.name)
        locks = moved_locks(facts, wish, load_id=load_id, job_id=job_id, before=before, after=after)
        if not (only_ask or kept or move_locks):
            refuse_unnamed(locks)
        # Last: whoever is told that a reason helps is refused by nothing behind it.
        if against and reason is None:
            lot, said = against[0]
            raise AdviceAgainst(lot=lot, place=ready.name, why=said.sentence)
        if not (only_ask or kept):
            self._keep(caller, facts, wish, reason)
        told = ChoiceTold(
            load_id=None if only_ask else wish.id,
            kept=not only_ask,
            destination_kind=wish.destination_kind,
            destination_id=wish.destination_id,
            name=ready.name,
            cost_cents=_cost(before, after),
            overridden=tuple(
                SetAside(
                    lot_code=lot,
                    code=said.code,
                    sentence=said.sentence,
                    rule_class=said.rule_class,
                )
                for lot, said in against
            ),
            drawn_in=mixed,
            locks_moved=locks,
        )
        return Choice(load=wish, told=told)

    def _read(
        self, caller: Caller, *, load_id: UUID | None, job_id: UUID | None, wish_id: UUID
    ) -> tuple[DayFacts, Load | None, bool]:
        """Return the day, the planned load that is meant, and whether an earlier try was kept.

        There is no load where a lot has none yet.
        """
        with self.open_unit_of_work() as unit:
            # What an earlier try of the same request kept is that load by now, wherever it is.
            wish = unit.loads.get(caller.firm_id, wish_id)
            load = wish or (None if load_id is None else unit.loads.get(caller.firm_id, load_id))
            job = None if job_id is None else unit.jobs.get(caller.firm_id, job_id)
            if load is None and job is None:
                raise RecordMissing(record="load or job", id=load_id or job_id)
            now = self.clock.now()
            if load is not None:
                depot_id, day = load.depot_id, load.working_day
            else:
                assert job is not None  # noqa: S101 - one of the two is there, see above
                depot = unit.depots.get(caller.firm_id, job.depot_id)
                assert depot is not None  # noqa: S101 - a job names a depot that is there
                depot_id, day = job.depot_id, max(day_of(depot, job.at), day_of(depot, now))
            facts = read_day(unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=now)
            where = "" if load is None else where_now(unit, load)
        if wish is not None:
            return facts, wish, True
        if load is not None and load.state is not LoadState.PLANNED:
            what = ", ".join(part.lot_code for part in load.parts)
            if load.state is LoadState.SUPERSEDED:
                what = f"{what} (as /loads/{load.id}; {where})"
            raise NotToBeChosen(what=what)
        if load is None:
            carrying = [
                one for one in facts.planned_loads if any(p.job_id == job_id for p in one.parts)
            ]
            load = carrying[0] if len(carrying) == 1 else None
        return facts, load, False

    def _planned(
        self, facts: DayFacts, wish: Load, ready: ReadyDestination, *, is_kept: bool
    ) -> tuple[UnstoredPlan, UnstoredPlan]:
        """Return the day without the choice and with it.

        Raises
        ------
        TipNotPossible, TooLittleCounted, NotToBeChosen
        """
        # Locks on its lots would keep them where they are: the newest word holds.
        free = replace(
            facts,
            loads=tuple(
                ended(one, facts.now) if share_a_lot(one, wish) else one for one in facts.loads
            ),
            lost_locks=tuple(one for one in facts.lost_locks if not share_a_lot(one, wish)),
        )
        supposed = replace(free, lost_locks=(*free.lost_locks, wish))
        before = self._make_day(free if is_kept else facts, self._stop, explain=False)
        after = self._make_day(supposed, self._stop, explain=False)
        left = [
            part.lot_code
            for part in wish.parts
            if part.job_id in after.advice and after.advice[part.job_id].better
        ]
        if left:
            raise NotToBeChosen(what=f"What stays on its lawn ({', '.join(left)})")
        # In the planner's whole kilograms, as the lock is.
        if tipped_kg(wish, after) < round(wish.mass_kg.high):
            vehicle = facts.vehicles[wish.vehicle_id].registration
            raise _why_not(wish, ready, after.built, vehicle=vehicle)
        return before, after

    def _keep(self, caller: Caller, facts: DayFacts, wish: Load, reason: str | None) -> None:
        """Keep the choice as a lock that the next plan takes up; those it replaces are ended."""
        stamp = self.stamp(facts.now, caller, reason)
        with self.open_unit_of_work() as unit:
            touch_day(
                unit,
                firm_id=caller.firm_id,
                depot_id=facts.depot.id,
                day=facts.span.day,
                stamp=stamp,
            )
            changed = [(one, ended(one, facts.now)) for one in locks_on(unit, wish)]
            unit.loads.replace_many([new for _, new in changed])
            unit.loads.add(wish)
            for old, new in (*changed, (replace(wish, locked=False), wish)):
                unit.amendments.add(amendment_of("loads", old, new, stamp))
            unit.commit()


def _cost(before: UnstoredPlan, after: UnstoredPlan) -> CostTold:
    """Return what the day costs without a choice and with it."""
    was_cents, is_cents = before.plan.cost_cents.total, after.plan.cost_cents.total
    return CostTold(before=was_cents, after=is_cents, difference=is_cents - was_cents)


def _why_not(wish: Load, ready: ReadyDestination, built: DayProblem, *, vehicle: str) -> Refusal:
    """Return why a tip is in no plan: hours, payload and room, or what its client takes at least.

    That is counted by the vehicle's least sure lot, and so may be more than a surer load is.
    """
    permille = max(
        (
            one.least_permille
            for one in built.problem.vehicles
            if built.vehicles[one.id].vehicle_id == wish.vehicle_id
        ),
        default=0,
    )
    if ceil(ready.least_kg) * permille > 1000 * round(wish.mass_kg.high):
        return TooLittleCounted(vehicle=vehicle, place=ready.name, least_kg=ready.least_kg)
    rooms = {one.id: one.capacity_kg for one in built.problem.destinations}
    return TipNotPossible(
        vehicle=vehicle,
        place=ready.name,
        lots=", ".join(part.lot_code for part in wish.parts),
        mass_kg=ceil(wish.mass_kg.high),
        room_kg=max(
            (rooms[key] for key, one in built.destinations.items() if one.id == ready.id), default=0
        ),
    )


def _of_lot(facts: DayFacts, asked: Asked, job_id: UUID) -> Load:
    """Return a load of all that is left of a lot which no load brings, as it would be tipped."""
    job = next((one for one in facts.to_be_routed() if one.id == job_id), None)
    if job is None or job.id not in asked.lots or facts.share_left(job) <= 0:
        raise NotToBeChosen(what="This lot")
    cargo = cargo_of([(job.id, facts.share_left(job))], asked.lots)
    taker: Sequence[ReadyDestination] = asked.destinations
    return Load(
        id=job.id,
        firm_id=job.firm_id,
        version=1,
        created_at=facts.now,
        updated_at=facts.now,
        depot_id=facts.depot.id,
        working_day=facts.span.day,
        vehicle_id=job.vehicle_id,
        crew_id=job.crew_id,
        destination_kind=taker[0].kind,
        destination_id=taker[0].id,
        sequence=1,
        after_job_id=job.id,
        arrive_at=max(facts.now, job.at),
        parts=tuple(
            LoadPart(job_id=part.job_id, lot_code=part.lot_code, share=part.share)
            for part in cargo.parts
        ),
        status=cargo.status,
        mass_kg=cargo.mass_kg,
        volume_m3=cargo.volume_m3,
        nitrogen_kg=cargo.nitrogen_kg,
    )

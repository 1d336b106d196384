"""Before the mower starts: bag it, leave it on the lawn, or bag it and hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.measures.quantities import Measure
from service.core.places import Depot, DestinationKind, Lawn
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.travel import Distances
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.staleness import is_current
from service.usecases.base.use_cases import Asking
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import read_recalls
from service.usecases.day.lawn_hours import hours_of
from service.usecases.day.planned_day import range_of
from service.usecases.day.reading.read_day import read_day
from service.usecases.records.job_names import JOBS_OWN
from service.usecases.telling.before_mowing.as_planned import as_the_plan_has_it
from service.usecases.telling.before_mowing.by_plan import (
    by_plan,
    mown_by_plan,
    not_for_this,
    status_by_plan,
)
from service.usecases.telling.before_mowing.day_in_hand import DayInHand, DaysInHand
from service.usecases.telling.before_mowing.keep_off import kept_off
from service.usecases.telling.before_mowing.lawn_question import (
    LawnAnswer,
    LawnQuestion,
    Said,
    differs,
)
from service.usecases.telling.before_mowing.many_loads import largest_of, many_loads
from service.usecases.telling.before_mowing.mixing import aboard_now, mixing
from service.usecases.telling.before_mowing.what_to_do import what_to_do
from service.usecases.telling.told.before_mowing import LotPlan
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.lots import LEAVE
from service.usecases.telling.told.verdicts import told_advice, told_verdict

DESTINATIONS_TOLD: Final = 5
# Of what few take, so many are named in a sentence.
SITES_NAMED: Final = 2
# A third off grass of 75 mm: the usual cut (common practice, no source).
USUAL_HEIGHT_REMOVED_MM: Final = 25.0


@dataclass(frozen=True, kw_only=True, eq=False)
class PreMowCheck(Asking):
    """Answer a crew that stands before a lawn whether it may bag, and where that would go."""

    rulebook: Rulebook
    distances: Distances
    days: DaysInHand = field(default_factory=DaysInHand)

    def __call__(
        self,
        caller: Caller,
        lawn_id: UUID,
        *,
        depot_id: UUID,
        said: Said,
        at: datetime | None = None,
    ) -> dict[str, object]:
        """Return the answer with one reason and the estimate; nothing is kept.

        A job that is planned for the lawn on that day says what the crew does not.

        Raises
        ------
        RecordMissing
        """
        with self.open_unit_of_work() as unit:
            question = self._asked(unit, caller, lawn_id, depot_id=depot_id, at=at)
        planned = question.planned
        given = question.completed(said)
        answered = question.answer(given)
        as_planned = question.completed(Said())
        is_other = given != as_planned and differs(question.answer(as_planned), answered)
        told = self._answered(question, answered, is_other=is_other)
        hours, span = hours_of(question.facts, question.job), question.facts.span
        # Who asks today may be there now, whatever hour the plan has.
        is_now = at is None and span.start <= question.facts.now < span.end
        return {
            "lawn_id": str(lawn_id),
            "job_id": None if planned is None else str(planned.id),
            "day": question.facts.span.day.isoformat(),
            **told,
            "keep_off": kept_off(
                question.lot_facts.treatments_for(question.job),
                question.facts.now if is_now else question.job.at,
                span=span,
            ),
            "mowing_hours": None if hours is None else hours.outside(question.job.at),
            "undecided": [
                one
                for one in question.undecided(given, answered)
                if one["answer"] != told["answer"] or told["without_plan"] is None
            ],
            "willing": [
                place
                for place in self._willing(question, answered)
                if caller.scope is None or place["destination_kind"] != DestinationKind.BED
            ],
            "rulebook_version": self.rulebook.version,
        }

    def of_lawns(
        self, caller: Caller, lawn_ids: Iterable[UUID], *, depot_id: UUID
    ) -> dict[UUID, dict[str, Any]]:
        """Return for several lawns of today what a check with nothing said answers, and its plan.

        Their day is read once, for all crews that ask while nothing happens on it. Who else would
        take the clippings is left out.

        Raises
        ------
        RecordMissing
        """
        wanted, now = list(lawn_ids), self.clock.now()
        if not wanted:
            return {}
        with self.open_unit_of_work() as unit:
            day = day_of(find_depot(unit, caller.firm_id, depot_id), now)
            hand = self.days.of(unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=now)
            questions = {
                lawn_id: self._asked(unit, caller, lawn_id, depot_id=depot_id, hand=hand)
                for lawn_id in wanted
            }
        return {
            lawn_id: self._answered(asked, asked.answer(asked.completed(Said())), is_other=False)
            for lawn_id, asked in questions.items()
        }

    def _asked(
        self,
        unit: UnitOfWork,
        caller: Caller,
        lawn_id: UUID,
        *,
        depot_id: UUID,
        at: datetime | None = None,
        hand: DayInHand | None = None,
    ) -> LawnQuestion:
        """Return a lawn as it is asked about; its day is read unless it is there. Raises as above.

        A lawn that nobody named a job for is none of a crew's.
        """
        now = self.clock.now()
        lawn = unit.lawns.get(caller.firm_id, lawn_id)
        if lawn is None:
            raise RecordMissing(record="lawn", id=lawn_id)
        depot = find_depot(unit, caller.firm_id, depot_id)
        if hand is None:
            day = day_of(depot, at or now)
            hand = DayInHand(
                facts=read_day(unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=now)
            )
        facts = hand.facts
        planned = _planned(facts, lawn_id, caller)
        if planned is None and caller.scope is not None:
            raise RecordMissing(record="lawn", id=lawn_id)
        job = planned or _unplanned(caller, lawn, depot, now)
        # The clippings age from the hour at which the plan has them cut, as all it tells does.
        at = at or mown_by_plan(facts.previous, None if planned is None else planned.id)
        if at is not None:
            job = replace(job, planned_at=at)
        return LawnQuestion(
            facts=replace(
                facts,
                recalls=read_recalls(unit, depot, [job], ()),
                lawns={**facts.lawns, lawn.id: lawn},
            ),
            lot_facts=read_lot_facts(unit, caller.firm_id, [job]),
            job=job,
            planned=planned,
            rulebook=self.rulebook,
            made_ready=hand.made_ready,
        )

    def _answered(
        self, question: LawnQuestion, answered: LawnAnswer, *, is_other: bool
    ) -> dict[str, Any]:
        plan = _by_plan(
            answered,
            question.facts,
            question.planned,
            is_other=is_other,
            rulebook=self.rulebook,
        )
        told = as_the_plan_has_it(_told(answered), plan)
        sites = [
            question.ready[verdict.destination_id].name
            for verdict in answered.willing
            if verdict.destination_kind == DestinationKind.COMPOST_SITE
        ]
        are_few = len(sites) == len(answered.willing) <= SITES_NAMED
        first = what_to_do(
            told["answer"], answered.lot.status, plan, takers=sites if are_few else ()
        )
        return {**told, "what_to_do": plain(first), "plan": plain(plan)}

    def _willing(self, question: LawnQuestion, answered: LawnAnswer) -> list[dict[str, object]]:
        """Return who takes the clippings, the nearest first, with the way there and the room."""
        span = question.facts.span
        takers = [(question.ready[verdict.destination_id], verdict) for verdict in answered.willing]
        travel = self.distances.matrix([question.home, *(ready.point for ready, _ in takers)])
        nearest = sorted(
            range(len(takers)),
            key=lambda number: (travel.distance_m[0, number + 1], str(takers[number][0].id)),
        )
        return [
            {
                **plain(told_verdict(verdict, name=ready.name)),
                "distance_m": int(travel.distance_m[0, number + 1]),
                "drive_minutes": round(int(travel.duration_s[0, number + 1]) / 60),
                "last_load_at": span.at_second(ready.close_s).astimezone(span.zone).isoformat(),
            }
            for number in nearest[:DESTINATIONS_TOLD]
            for ready, verdict in [takers[number]]
        ]


def _by_plan(
    answered: LawnAnswer,
    facts: DayFacts,
    planned: Job | None,
    *,
    is_other: bool,
    rulebook: Rulebook,
) -> LotPlan:
    """Return what the newest plan does with the lot, and what in that body it would spoil.

    ``is_other``: what the crew says makes other grass of it than the planned job is.
    """
    job_id = None if planned is None else planned.id
    marked = facts.working_day
    told = by_plan(facts.previous, job_id, is_current=marked is not None and is_current(marked))
    vehicle_id = planned.vehicle_id if planned is not None else None
    if told.vehicle_id is not None:
        vehicle_id = told.vehicle_id
    aboard = aboard_now(facts, vehicle_id, job_id, rulebook=rulebook)
    vehicle = None if vehicle_id is None else facts.vehicles.get(vehicle_id)
    name = "" if vehicle is None else vehicle.registration
    by_then = status_by_plan(facts.previous, job_id)
    if by_then is not None and (is_other or by_then is not answered.lot.status):
        told = not_for_this(told, answered.lot.status)
    mixed = mixing(answered.lot, aboard, facts, job_id, vehicle=name)
    many = None
    if answered.word != LEAVE:
        many = many_loads(answered.lot, vehicle or largest_of(facts))
    return replace(told, aboard=aboard, mixing=mixed, many_loads=many)


def _told(answered: LawnAnswer) -> dict[str, Any]:
    advice, estimate = answered.advice, answered.job.estimate
    return {
        "answer": answered.word,
        **plain(told_advice(advice)),
        "status": answered.lot.status.value,
        "look_by": answered.lot.look_by.isoformat(),
        "keeps_until": answered.lot.keeps_until.isoformat(),
        "mass_kg": range_of(estimate.mass_kg) if estimate else None,
        "volume_l": range_of(estimate.volume_m3.scaled(1000.0, unit="L")) if estimate else None,
        "one_third_rule_broken": estimate.one_third_rule_broken if estimate else None,
    }


def _planned(facts: DayFacts, lawn_id: UUID, caller: Caller) -> Job | None:
    """Return the caller's first job that is planned for the lawn on the day, or None."""
    return next(
        (
            job
            for job in facts.jobs
            if job.lawn_id == lawn_id
            and job.state is JobState.PLANNED
            and caller.may_see(job, JOBS_OWN, what="ask about a lawn")
        ),
        None,
    )


def _unplanned(caller: Caller, lawn: Lawn, depot: Depot, now: datetime) -> Job:
    """Return the job that nobody has planned: the whole lawn, at the usual height."""
    return Job(
        id=lawn.id,
        firm_id=caller.firm_id,
        version=1,
        created_at=now,
        updated_at=now,
        property_id=lawn.property_id,
        lawn_id=lawn.id,
        crew_id=caller.key_id,
        vehicle_id=caller.key_id,
        depot_id=depot.id,
        state=JobState.PLANNED,
        planned_at=now,
        area_mowed=lawn.area,
        height_removed=Measure(value=USUAL_HEIGHT_REMOVED_MM, unit="mm"),
        grass_kind=lawn.grass_kind,
    )

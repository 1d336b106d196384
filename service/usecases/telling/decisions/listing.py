"""Needs you: one list of what waits for a word on a depot's day, the most urgent first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.jobs import Job
from service.core.plans import DayPlan
from service.rules.lookup import Rulebook
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Looking
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.refused_tips import refused_tips
from service.usecases.day.reading.read_day import read_day
from service.usecases.records.amending import links_of
from service.usecases.records.visits import undecided_jobs
from service.usecases.telling.decisions.decision import Decision, in_words, most_urgent_first
from service.usecases.telling.decisions.held import held_now, hot_aboard, was_it_loaded
from service.usecases.telling.decisions.matters import one_a_matter, one_a_vehicle
from service.usecases.telling.decisions.months import months_reached
from service.usecases.telling.decisions.not_reported import planned_not_reported
from service.usecases.telling.decisions.part_mown import part_not_mown
from service.usecases.telling.decisions.places import full_bays, gates, grounds, papers_ending
from service.usecases.telling.decisions.plan.planned import decisions_of_plan
from service.usecases.telling.decisions.recorded import (
    at_gate,
    long_under_way,
    overnight,
    possible_duplicates,
    weights,
)
from service.usecases.telling.decisions.sizes import leaves_not_estimated, measured_far_off
from service.usecases.telling.decisions.tipped.late import cut_before_tip
from service.usecases.telling.decisions.tipped.learned import learned
from service.usecases.telling.decisions.tipped.recalls import calls_to_make
from service.usecases.telling.decisions.tipped.said import lay_in_one_body, said_where_brought
from service.usecases.telling.decisions.tipped.tips import (
    over_limits,
    tipped_at_shut_gates,
    tipped_where_refused,
)
from service.usecases.telling.decisions.tipped.unkept import tips_not_kept
from service.usecases.telling.decisions.tipped.written import refused_later, written_by_clients
from service.usecases.telling.decisions.treatments import treatments_not_known
from service.usecases.telling.decisions.under_way.aboard import must_be_tipped
from service.usecases.telling.decisions.under_way.on_the_way import refused_before_the_tip
from service.usecases.telling.decisions.under_way.still_out import still_out
from service.usecases.telling.decisions.whom import Whom
from service.usecases.telling.warnings.subjects import Subjects

Finder = Callable[[DayFacts, Rulebook], Iterable[Decision]]

# Whoever knows of another thing that waits for a word adds who finds it. An item is worked out of
# the records each time: it leaves the list when its fact is gone, and nobody ticks it off.
FINDERS: Final[tuple[Finder, ...]] = (
    refused_before_the_tip,
    over_limits,
    overnight,
    hot_aboard,
    at_gate,
    lay_in_one_body,
    long_under_way,
    still_out,
    weights,
    full_bays,
    gates,
    grounds,
    possible_duplicates,
    measured_far_off,
    leaves_not_estimated,
    treatments_not_known,
)


# Who has it speaks for a site, and nobody joined to do so.
BY_LINK: Final = " Said by the link of the site."


@dataclass(frozen=True, kw_only=True, eq=False)
class TellDecisions(Looking):
    """Find what waits for a word in the newest plan of a day and in the records of now."""

    rulebook: Rulebook

    def __call__(
        self, caller: Caller, depot_id: UUID, day: date, *, plan: DayPlan | None = None
    ) -> tuple[Decision, ...]:
        """Return the items, the most urgent first; nothing is planned for them.

        Parameters
        ----------
        plan
            The plan that is looked at; the newest kept if left out.

        Raises
        ------
        RecordMissing
        """
        with self.open_reading() as unit:
            return self.within(unit, caller, depot_id, day, plan=plan)

    def within(
        self,
        unit: UnitOfWork,
        caller: Caller,
        depot_id: UUID,
        day: date,
        *,
        plan: DayPlan | None = None,
    ) -> tuple[Decision, ...]:
        """Return the items as one unit of work sees them. Raises RecordMissing."""
        now = self.clock.now()
        facts = read_day(unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=now)
        facts = replace(facts, undecided=_undecided(unit, facts))
        plan = plan or facts.previous
        found = [one for find in FINDERS for one in find(facts, self.rulebook)]
        whom = Whom(unit, facts)
        found += must_be_tipped(facts, self.rulebook, whom)
        found += papers_ending(facts, whom)
        found += months_reached(facts, whom)
        found += said_where_brought(facts, whom)
        found += planned_not_reported(unit, facts)
        found += part_not_mown(unit, facts)
        found += tips_not_kept(unit, facts)
        found += cut_before_tip(unit, facts)
        found += calls_to_make(unit, facts)
        found += written_by_clients(unit, facts, whom)
        found += was_it_loaded(unit, facts)
        found += held_now(facts, plan, rulebook=self.rulebook)
        refused = [*refused_tips(facts, rulebook=self.rulebook)]
        found += tipped_where_refused(refused)
        found += tipped_at_shut_gates(unit, facts)
        lies = [*refused_later(unit, facts, whom)]
        found += lies
        found += learned(unit, facts, self.rulebook, whom, refused=refused, lies=lies)
        if plan is not None:
            found += decisions_of_plan(plan, facts)
        local, subjects = now.astimezone(facts.span.zone), Subjects(facts)
        by_link = _said_by_link(unit, caller.firm_id, found)
        told = (
            replace(
                one,
                sentence=in_words(one.sentence, local) + (BY_LINK if one in by_link else ""),
                own=one.own and in_words(one.own, local),
            )
            for one in one_a_vehicle(found)
        )
        return most_urgent_first(one_a_matter(told, subjects))


def _said_by_link(unit: UnitOfWork, firm_id: UUID, found: Sequence[Decision]) -> list[Decision]:
    """Return those that rest on a word that was last said by the link of a site."""
    worded = [one for one in found if one.word is not None]
    links = links_of(unit, firm_id) if worded else set()
    if not links:
        return []
    about = {one.load_id or one.destination_id for one in worded}
    said: dict[tuple[UUID | None, str | None], bool] = {
        (change.record_id, name): change.key_id in links
        for change in unit.amendments.of(firm_id, *filter(None, about))
        for name in change.changes
    }
    return [one for one in worded if said.get((one.load_id or one.destination_id, one.word))]


def _undecided(unit: UnitOfWork, facts: DayFacts) -> tuple[tuple[Job, Job], ...]:
    """Return the cuts up to the day that may be on record twice, with what they are like."""
    depot = facts.depot
    waiting = undecided_jobs(unit, depot.firm_id, depot.id)
    found = [job for job in waiting if job.at < facts.span.end]
    like_ids = {job.duplicate_of_id for job in found if job.duplicate_of_id is not None}
    like = unit.jobs.get_many(depot.firm_id, sorted(like_ids)) if like_ids else {}
    return tuple((job, like[job.duplicate_of_id]) for job in found if job.duplicate_of_id in like)

"""Whether what a note is of is being called back: nobody is told to spread that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from service.core.jobs import Job
from service.core.loads import Load
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_facts import LotFacts
from service.usecases.day.asking import refusals_now
from service.usecases.day.destinations import ready_now
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import broken_by
from service.usecases.records.held.queue_states import STAYED_STATES


def is_called_back(
    load: Load, jobs: Sequence[Job], facts: DayFacts, lot_facts: LotFacts, *, rulebook: Rulebook
) -> bool:
    """Return whether a load that stayed at a bed is called back, as the day's decisions say it."""
    if load.state not in STAYED_STATES:
        return False
    lots = {job.id: job for job in jobs}
    if broken_by(load, facts.recalls) or any(one.codes_in(load) for one in facts.recalls):
        return True
    # What waited in a bay was judged by its own clock when it was brought on.
    fresh = tuple(part for part in load.parts if part.hold_entry_id is None)
    return bool(
        refusals_now(
            replace(load, parts=fresh),
            lots,
            replace(facts, lot_facts=lot_facts),
            ready_now(load, facts, rulebook=rulebook),
            rulebook=rulebook,
        )
    )

"""Cuts that were told only after a tip of their vehicle: in it, or aboard still."""

from __future__ import annotations

from collections.abc import Iterator

from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.records.field.late_cut import CODE, late_cut_told, late_cuts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way


def cut_before_tip(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield of each what may lie aboard for good, or be forgotten at its place."""
    for late in late_cuts(unit, facts.jobs):
        told = late_cut_told(unit, late)
        href = f"/jobs/{late.job.id}/decisions"
        yield Decision(
            code=CODE,
            urgency=Urgency.TODAY,
            sentence=str(told["sentence"]).removesuffix(" Tell the office.") + " Ask the crew.",
            lot_codes=(late.job.lot_code,),
            job_id=late.job.id,
            vehicle_id=late.job.vehicle_id,
            load_id=late.tip.id,
            destination_kind=late.tip.destination_kind,
            destination_id=late.tip.destination_id,
            ways=(
                Way(what="It went in that tip (went_in_that_tip)", method="POST", href=href),
                Way(what="It is still aboard (still_aboard)", method="POST", href=href),
            ),
        )

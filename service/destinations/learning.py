"""Correct a lot's estimate by the firm's reviewed weigh tickets, with the rules of the day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from service.agronomy.learning.estimator import VarianceShares, learn
from service.agronomy.learning.weigh_tickets import Ticket
from service.core.jobs import Job, LotEstimate
from service.core.measures.estimates import Estimate
from service.destinations.estimating import content_of, season_of
from service.rules.here import RulesHere


def ticket_group(job: Job, *, day: date, latitude: float) -> str:
    """Return the group a job's tickets belong to: grass kind and season."""
    return f"{job.grass_kind.value}/{season_of(day, latitude=latitude)}"


def ticket_lawn(job: Job) -> str:
    """Return the lawn a job's tickets belong to, or its property where no lawn was named."""
    return str(job.lawn_id or job.property_id)


def learned_estimate(
    estimate: LotEstimate, tickets: Sequence[Ticket], *, group: str, lawn: str, here: RulesHere
) -> LotEstimate:
    """Return the estimate after what the tickets taught; without tickets, as it was.

    A heavier load than estimated has more of everything in it: dry matter, volume and
    nitrogen are corrected by the same ratio as the mass, and are as sure as it and what
    they are per mass. Water is in doubt in a mass and in what is dry in it: where little
    was learned, it is not counted twice.
    """
    if not tickets:
        return estimate
    shares = {
        level: here.value("learning_variance_share", level=level)
        for level in ("firm", "group", "lawn", "load")
    }
    before = estimate.mass_unlearned_kg
    learned = learn(before, tickets, group=group, lawn=lawn, shares=VarianceShares(**shares))
    holds, mass_kg, ratio = content_of(estimate), learned.estimate, learned.ratio
    return replace(
        estimate,
        mass_kg=mass_kg,
        dry_matter_kg=_surer(estimate.dry_matter_kg, ratio, holds.dry_matter_kg(mass_kg)),
        volume_m3=_surer(estimate.volume_m3, ratio, holds.volume_m3(mass_kg)),
        nitrogen_kg=_surer(estimate.nitrogen_kg, ratio, holds.nitrogen_kg(mass_kg)),
        factors=(*estimate.factors, *learned.factors),
        tickets=learned.tickets_firm,
        mass_before_tickets_kg=before,
    )


def _surer(before: Estimate, ratio: float, after: Estimate) -> Estimate:
    """Return what was estimated, by what was learned of the mass, with the narrower interval."""
    scaled = before.scaled(ratio, unit=before.unit)
    if after.high * scaled.low >= scaled.high * after.low:
        return scaled
    return replace(
        scaled,
        low=scaled.likely * after.low / after.likely,
        high=scaled.likely * after.high / after.likely,
    )

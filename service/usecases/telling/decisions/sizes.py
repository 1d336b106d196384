"""What was measured of a cut and is far from what its lawn can give: a slip, or a thing to know."""

from __future__ import annotations

from collections.abc import Iterator

from service.core.jobs import JobState
from service.destinations.lots import amounts_of
from service.destinations.measured import beyond_print, far_off
from service.rules.lookup import Rulebook
from service.usecases.day.bodies.vehicle_days import MOST_BODIES, bodies_of
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, size_is_so


def measured_far_off(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the cuts of which something was measured that is far from what was to be expected."""
    for job in facts.jobs:
        if job.state is not JobState.MOWN or job.size_confirmed is not None:
            continue
        if job.estimate is None:
            continue
        off = f"{job.height_removed_mm:g} mm off {job.area_mowed.si_value:,.0f} m2"
        told = [f"{one} ({off})" for one in far_off(job, job.estimate)]
        beyond = beyond_print(job, job.estimate, rulebook=rulebook, day=facts.span.day)
        if beyond is not None:
            told.append(f"{off} is {beyond}")
        mass_kg, volume_m3, _ = amounts_of(job, job.estimate)
        vehicle = facts.vehicles[job.vehicle_id]
        # Of what is more loads than anybody believes it is told already (`lot_too_large`).
        if not told or bodies_of(mass_kg.high, volume_m3.high, vehicle) > MOST_BODIES:
            continue
        yield Decision(
            code="measured_far_off",
            urgency=Urgency.TODAY,
            sentence=(
                f"{job.lot_code}: {' and '.join(told)}. That is more often a slip "
                "than a cut; until it is corrected, limits are kept with what was measured."
            ),
            own=job.lot_code,
            lot_codes=(job.lot_code,),
            job_id=job.id,
            vehicle_id=job.vehicle_id,
            ways=(
                Way(
                    what="Correct what was measured, its area or its height",
                    method="PATCH",
                    href=f"/jobs/{job.id}",
                ),
                size_is_so(job.id),
            ),
        )

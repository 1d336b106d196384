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


def leaves_not_estimated(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the cuts that leaves came up with, and of which nothing was measured."""
    for job in facts.jobs:
        is_here = job.state is JobState.MOWN and facts.share_left(job) > 0.0
        is_measured = job.measured_mass is not None or job.measured_volume is not None
        if not job.leaves_mixed or is_measured or not is_here:
            continue
        yield Decision(
            code="leaves_not_estimated",
            urgency=Urgency.TODAY,
            sentence=(
                f"Leaves came up with {job.lot_code}: how many is not known here. Its estimate, "
                "and every limit that is kept with it, is of the grass alone: the load may be "
                "larger and heavier. Have it weighed, or its volume read off the body. Leaves are "
                "dry matter already: less is added where it is laid."
            ),
            own=job.lot_code,
            lot_codes=(job.lot_code,),
            job_id=job.id,
            vehicle_id=job.vehicle_id,
            ways=(
                Way(
                    what=f"Keep the measured volume or mass of {job.lot_code}",
                    method="PATCH",
                    href=f"/jobs/{job.id}",
                ),
            ),
        )


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

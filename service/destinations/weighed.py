"""What a weight that counts makes of a load: its amounts follow from it, the estimate beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from uuid import UUID

from service.agronomy.estimates.uncertainty import total
from service.core.jobs import Job
from service.core.loads import Load
from service.core.measures.estimates import Estimate, exactly
from service.destinations.estimating import content_of
from service.destinations.lots import amounts_of
from service.destinations.verdicts import Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """Mass [kg], volume [m3] and nitrogen [kg] of clippings."""

    mass_kg: Estimate
    volume_m3: Estimate
    nitrogen_kg: Estimate


def weighed_parts(load: Load, jobs: Mapping[UUID, Job]) -> dict[UUID, Amounts]:
    """Return by job what a load has of it as weighed; nothing if no weight counts, or a job lacks.

    A ticket is of all that stayed there: it is shared among the jobs by what they were thought to
    be. Volume and nitrogen follow from it as from any mass that was measured, and are as sure as
    the density, the water and the nitrogen of such grass; a volume that was measured stays.

    Parameters
    ----------
    jobs
        Those of the load, by id.
    """
    if load.weighed_net is None or not load.weight_counts or load.weighed_net.si_value <= 0:
        return {}
    if any(part.job_id not in jobs for part in load.parts):
        return {}
    shares: dict[UUID, float] = {}
    thought_kg: dict[UUID, float] = {}
    for part in load.parts:
        estimate = jobs[part.job_id].estimate
        if estimate is not None and part.share > 0:
            likely_kg = amounts_of(jobs[part.job_id], estimate)[0].likely
            shares[part.job_id] = shares.get(part.job_id, 0.0) + part.share
            thought_kg[part.job_id] = thought_kg.get(part.job_id, 0.0) + likely_kg * part.share
    whole_kg = sum(thought_kg.values())
    return {
        job_id: _weighed(
            jobs[job_id],
            load.weighed_net.si_value * kg / whole_kg,
            stayed=shares[job_id] * load.kept_share,
        )
        for job_id, kg in thought_kg.items()
        if kg > 0
    }


def counted_amounts(load: Load, jobs: Mapping[UUID, Job]) -> Amounts:
    """Return what counts of a load: as weighed where a weight counts, else as estimated."""
    parts = weighed_parts(load, jobs).values()
    if not parts:
        ratio = load.taken_share if load.weight_counts else 1.0
        return Amounts(
            mass_kg=exactly(load.mass_kg.high * ratio, unit="kg", basis="weighed")
            if load.weight_counts
            else load.mass_kg,
            volume_m3=load.volume_m3.scaled(ratio, unit="m3"),
            nitrogen_kg=load.nitrogen_kg.scaled(ratio, unit="kg"),
        )
    return Amounts(
        mass_kg=_summed((part.mass_kg for part in parts), unit="kg"),
        volume_m3=_summed((part.volume_m3 for part in parts), unit="m3"),
        nitrogen_kg=_summed((part.nitrogen_kg for part in parts), unit="kg"),
    )


def as_weighed(lot: Lot, parts: Mapping[UUID, Amounts]) -> Lot:
    """Return a lot with the amounts that were weighed of it; as it was where none were."""
    part = parts.get(lot.job_id)
    if part is None:
        return lot
    return replace(
        lot, mass_kg=part.mass_kg, volume_m3=part.volume_m3, nitrogen_kg=part.nitrogen_kg
    )


def _weighed(job: Job, weighed_kg: float, *, stayed: float) -> Amounts:
    if job.estimate is None:
        msg = f"job {job.id} has no estimate"
        raise ValueError(msg)
    holds = content_of(job.estimate)
    mass_kg = exactly(weighed_kg, unit="kg", basis="weighed")
    measured = job.measured_volume is not None and job.measured_volume.si_value > 0
    return Amounts(
        mass_kg=mass_kg,
        volume_m3=amounts_of(job, job.estimate)[1].scaled(stayed, unit="m3")
        if measured
        else holds.volume_m3(mass_kg),
        nitrogen_kg=holds.nitrogen_kg(mass_kg),
    )


def _summed(parts: Iterable[Estimate], *, unit: str) -> Estimate:
    """Return the sum of amounts of one body, which err together: wet or dry, all of them."""
    return total(list(parts), unit=unit, basis="as weighed", correlation=1.0)

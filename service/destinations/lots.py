"""What was found about a job's clippings: the lot that every destination is asked about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.jobs import Job, LotEstimate, LotFinding
from service.core.materials import LotStatus, TreatmentHistory, worst_status
from service.core.measures.estimates import Estimate, exactly
from service.core.measures.quantities import Measure
from service.core.treatments import Treatment
from service.destinations.estimating import content_of
from service.destinations.freshness import keeping_time
from service.destinations.treatments.waits import waits_of
from service.destinations.verdicts import Lot, Wait
from service.rules.here import RulesHere

UNKNOWN_CODES = frozenset({"treatment_unknown"})
# Of a finding that no record of the cut has: whoever was brought it looked into it.
SAID: Final = "said_where_brought"
# Of such a one: in words of no list, so nobody knows what was meant until somebody has asked.
OWN_WORDS: Final = "own_words"
# Of one that no record of the cut has either: it lay in one body with what is worse.
MIXED: Final = "lay_in_one_body"
# They stand beside what is recorded until the office takes them back.
STANDING: Final = frozenset({SAID, MIXED})


def find_lot(
    job: Job,
    *,
    treatments: Sequence[Treatment],
    mowings: Mapping[UUID, Sequence[datetime]],
    here: RulesHere,
    at: datetime | None = None,
) -> Lot:
    """Return the lot of a job that has its estimate: its findings and its waits.

    The crew's word and the record are both heard, and the worse wins: a lawn whose
    crew knows of no treatment is treated if a treatment stands in its record.

    Parameters
    ----------
    job
        With its estimate.
    treatments
        Every treatment on record for the lawns the job may have cut.
    mowings
        By lawn, the mowings before this one.
    here
        The rules of the working day of the cut.
    at
        The moment it is asked about: by then it may have turned sour. None for the moment
        of the cut, which is what a job's record keeps.
    """
    if job.estimate is None:
        msg = f"job {job.id} has no estimate"
        raise ValueError(msg)
    waits = waits_of(treatments, mowings, here=here)
    mass_kg, volume_m3, nitrogen_kg = amounts_of(job, job.estimate)
    lot = Lot(
        job_id=job.id,
        lot_code=job.lot_code,
        property_id=job.property_id,
        mass_kg=mass_kg,
        volume_m3=volume_m3,
        nitrogen_kg=nitrogen_kg,
        carbon_to_nitrogen=job.estimate.carbon_to_nitrogen,
        cut_at=job.at,
        wetness=job.wetness,
        keeps=keeping_time(job.wetness, here=here),
        findings=(
            *_seen(job),
            *(finding for finding in job.findings if finding.code in STANDING),
            *_told(job, recorded=bool(waits)),
            *_treated(waits),
        ),
        waits=waits,
    )
    return lot if at is None else lot.aged(at)


def as_smelt(job: Job, at: datetime) -> Job:
    """Return a job as it was at a moment: what is said to smell by now did not before that.

    Nor was it mixed with what came into its body only later.
    """
    return _with(job, tuple(one for one in job.findings if not _came_after(one, at)))


def as_known(job: Job, at: datetime) -> Job:
    """Return a job by what is known to have been the matter with it at a moment.

    What somebody meant is asked first: nobody who has some of it is called for a guess.
    """
    smelt = as_smelt(job, at)
    return _with(smelt, tuple(one for one in smelt.findings if OWN_WORDS not in one.facts))


def _with(job: Job, findings: tuple[LotFinding, ...]) -> Job:
    if findings == job.findings:
        return job
    left = [finding.status for finding in findings] or [LotStatus.CLEAN]
    return replace(job, findings=findings, status=worst_status(left))


def _came_after(finding: LotFinding, at: datetime) -> bool:
    smells = finding.code == SAID and finding.status is LotStatus.SOUR
    if not smells and finding.code != MIXED:
        return False
    return datetime.fromisoformat(str(finding.facts["at"])) > at


def amounts_of(job: Job, estimate: LotEstimate) -> tuple[Estimate, Estimate, Estimate]:
    """Return mass, volume and nitrogen that limits are kept with: as measured where it was.

    The estimate of the job stays as it is beside the measurement; what was not measured
    follows from what was by the same density, water and nitrogen, and is as sure as those.
    """
    mass_kg = _measured(job.measured_mass, unit="kg")
    volume_m3 = _measured(job.measured_volume, unit="m3")
    if mass_kg is None:
        if volume_m3 is None:
            return estimate.mass_kg, estimate.volume_m3, estimate.nitrogen_kg
        mass_kg = content_of(estimate).mass_kg(volume_m3)
    elif volume_m3 is None:
        volume_m3 = content_of(estimate).volume_m3(mass_kg)
    return mass_kg, volume_m3, content_of(estimate).nitrogen_kg(mass_kg)


def _measured(measure: Measure | None, *, unit: str) -> Estimate | None:
    if measure is None or measure.si_value <= 0:
        return None
    return exactly(measure.si_value, unit=unit, basis="measured by the crew")


def _seen(job: Job) -> list[LotFinding]:
    found = []
    if job.litter_seen:
        found.append(LotFinding(status=LotStatus.LITTERED, code="litter_seen"))
    if job.disease_seen:
        found.append(LotFinding(status=LotStatus.DISEASED, code="disease_seen"))
    if job.weeds_in_seed:
        found.append(LotFinding(status=LotStatus.WEEDY, code="weeds_in_seed"))
    return found


def _told(job: Job, *, recorded: bool) -> list[LotFinding]:
    if job.treatment_history is TreatmentHistory.UNKNOWN:
        return [LotFinding(status=LotStatus.UNKNOWN, code="treatment_history_unknown")]
    if job.treatment_history is TreatmentHistory.KNOWN and not recorded:
        # "Known" without a record leaves the service with nothing to go by.
        return [LotFinding(status=LotStatus.UNKNOWN, code="treatment_known_but_not_recorded")]
    return []


def _treated(waits: Mapping[str, Wait]) -> list[LotFinding]:
    found = []
    for use in ("bed", "compost_site"):
        wait = waits.get(use)
        if wait is None or wait.over:
            continue
        status = LotStatus.UNKNOWN if wait.code in UNKNOWN_CODES else LotStatus.TREATED
        found.append(LotFinding(status=status, code=wait.code, facts={"use": use, **wait.facts}))
    return found

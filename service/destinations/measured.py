"""Whether what a crew measured is anything that a lawn gives: a question to it, never a refusal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.agronomy.estimates.plausibility import Plausibility, check_mowing
from service.core.jobs import Job, LotEstimate
from service.core.loads import TIMES_BEYOND_ESTIMATE
from service.core.measures.estimates import Estimate, exactly
from service.destinations.estimating import content_of
from service.rules.lookup import Rulebook


@dataclass(frozen=True, slots=True, kw_only=True)
class FarOff:
    """What was measured, and what was to be expected of it."""

    measured: float
    expected: Estimate

    def __str__(self) -> str:
        """Return it in words, in its unit."""
        of = self.expected
        return (
            f"{_plain(self.measured)} {of.unit} were measured where {_plain(of.low)} to "
            f"{_plain(of.high)} {of.unit} were to be expected"
        )


def is_far(measured: float, expected: Estimate) -> bool:
    """Return whether a measurement is as far from an estimate as a weight that is doubted."""
    times = TIMES_BEYOND_ESTIMATE
    return measured > times * expected.high or measured * times < expected.low


def far_off(job: Job, estimate: LotEstimate) -> tuple[FarOff, ...]:
    """Return what was measured of a job and is far from what its estimate says.

    A volume is held against the room that the weight takes, where that was measured as well. With
    leaves in it the estimate is not of what was measured: nothing is far from it.
    """
    if job.leaves_mixed:
        return ()
    size = job.size
    expected_m3 = estimate.volume_m3
    if size.measured_mass_kg:
        expected_m3 = content_of(estimate).volume_m3(
            exactly(size.measured_mass_kg, unit="kg", basis="measured by the crew")
        )
    pairs = ((size.measured_mass_kg, estimate.mass_kg), (size.measured_volume_m3, expected_m3))
    return tuple(
        FarOff(measured=measured, expected=expected)
        for measured, expected in pairs
        if measured and is_far(measured, expected)
    )


def beyond_print(job: Job, estimate: LotEstimate, *, rulebook: Rulebook, day: date) -> str | None:
    """Return in words what a cut gives if that is more than twice what is published; else None.

    It is what `POST /computations/estimate` answers, asked of the record; where the cut was
    weighed, its height is no question.
    """
    published = rulebook.value_on(
        "mowing_dry_matter_g_per_m2", day, grass_kind=job.grass_kind.value
    ).estimate
    found = check_mowing(
        dry_matter_kg=estimate.dry_matter_kg.likely,
        area_m2=job.area_mowed.si_value,
        published_g_per_m2=published,
    )
    if found.plausibility is not Plausibility.FAR_ABOVE_PUBLISHED or job.size.measured_mass_kg:
        return None
    return (
        f"{found.value:,.0f} g of dry matter a m2, where {published.low:g} to {published.high:g} "
        "are published of a mowing"
    )


def _plain(number: float) -> str:
    return f"{number:,.0f}" if number >= 10 else f"{number:.2g}"  # noqa: PLR2004 - two digits

"""Good clippings that a plan holds back only because worse ones lie in one body with them.

A price of crew time alone cannot tell what that costs: it is a client's word that frees them, or
another order of the lawns, and both are for people to get. So it is told while something helps.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import LoadState
from service.core.materials import ClippingsHandling, LotStatus
from service.core.places import DestinationKind
from service.core.plans import DayPlan
from service.usecases.base.destination_kinds import KINDS
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way
from service.usecases.telling.warnings.subjects import named

Members = Mapping[str, Any]

CODE: Final = "held_with_worse"
# What is found of the worse lot, so that whoever reads it knows whom to ask, or that nobody can.
FOUND: Final[Mapping[LotStatus, str]] = {
    LotStatus.SOUR: "which are sour by then",
    LotStatus.WEEDY: "with weeds in seed",
    LotStatus.DISEASED: "with disease in them",
    LotStatus.TREATED: "whose treatment still asks for a wait",
    LotStatus.UNKNOWN: "and nobody knows what was put on that lawn",
    LotStatus.LITTERED: "with litter in them",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """One load that is still to come, by lots in the order they are mown."""

    better: Sequence[Job]
    worse: Sequence[Job]
    status: LotStatus
    better_kg: float

    @property
    def is_asked_about(self) -> bool:
        """Whether somebody's word could make it what the better lots are."""
        return self.status is LotStatus.UNKNOWN

    @property
    def turns_on(self) -> Job | None:
        """Return the job that somebody can still do otherwise; None where all is aboard."""
        ahead = [job for job in (*self.worse, *self.better) if job.state is JobState.PLANNED]
        if ahead:
            return ahead[0]
        return self.worse[0] if self.is_asked_about else None


def held_with_worse(plan: DayPlan, facts: DayFacts) -> Iterator[Decision]:
    """Yield a decision for each load to the bay that better lots are in, while something helps."""
    routing: Any = plan.routing
    for vehicle in routing["vehicles"]:
        at_jobs = {s["job_id"]: _at(s) for s in vehicle["stops"] if s["kind"] == "job"}
        for stop in vehicle["stops"]:
            mixture = _mixture(stop, routing, facts) if _is_to_be_held(stop) else None
            job = None if mixture is None else mixture.turns_on
            if mixture is None or job is None:
                continue
            is_ahead = job.state is JobState.PLANNED
            yield Decision(
                code=CODE,
                urgency=Urgency.TODAY,
                sentence=_sentence(mixture, stop["destination"], facts),
                deadline=at_jobs.get(str(job.id), _at(stop)) if is_ahead else _at(stop),
                lot_codes=tuple(one.lot_code for one in (*mixture.worse, *mixture.better)),
                job_id=job.id,
                vehicle_id=UUID(vehicle["vehicle_id"]),
                destination_kind=DestinationKind(stop["destination_kind"]),
                destination_id=UUID(stop["destination_id"]),
                ways=tuple(_ways(mixture, job)),
            )


def _is_to_be_held(stop: Members) -> bool:
    return (
        stop["kind"] == "drop"
        and stop["state"] == LoadState.PLANNED.value
        and KINDS[DestinationKind(stop["destination_kind"])].is_hold
    )


def _mixture(stop: Members, routing: Members, facts: DayFacts) -> Mixture | None:
    """Return what lies in the load of a drop; None of one kind, or if the records moved on."""
    lots = [
        (lot, way["share"])
        for lot in routing["lots"]
        for way in lot["goes_to"]
        if way["load_id"] == stop["load_id"]
    ]
    jobs = {lot["job_id"]: facts.known_jobs.get(UUID(lot["job_id"])) for lot, _ in lots}
    told = [(lot, share, jobs[lot["job_id"]]) for lot, share in lots]
    known = [(lot, share, job) for lot, share, job in told if job is not None]
    if any(_moved_on(lot, job) for lot, _, job in known):
        return None
    better = [(lot, share, job) for lot, share, job in known if lot["status"] != stop["status"]]
    worse = [job for lot, _, job in known if lot["status"] == stop["status"]]
    if not better or not worse:
        return None
    return Mixture(
        better=[job for _, _, job in better],
        worse=sorted(worse, key=lambda job: job.at),
        status=LotStatus(stop["status"]),
        better_kg=sum(lot["mass_kg"]["likely"] * share for lot, share, _ in better),
    )


def _moved_on(lot: Members, job: Job) -> bool:
    """Whether a record no longer is what the plan took it for; sour it is by the clock alone."""
    told = LotStatus(lot["status"])
    return job.clippings is ClippingsHandling.LEFT or (
        told is not LotStatus.SOUR and job.status is not told
    )


def _sentence(mixture: Mixture, place: str, facts: DayFacts) -> str:
    names = _names(mixture, facts)
    worse, better = (
        named(list(dict.fromkeys(names[job.id] for job in jobs)), most=1)
        for jobs in (mixture.worse, mixture.better)
    )
    said = (
        f"{mixture.better_kg:.0f} kg from {better} are held as {mixture.status}: they are to "
        f"lie in one body with the clippings of {worse}, {FOUND[mixture.status]}. All of it is "
        f"held at {place}."
    )
    if mixture.is_asked_about:
        said += "".join(f" {what} {names[job.id]}." for job, what, _ in _askings(mixture))
    job = mixture.turns_on
    if job is None or job.state is not JobState.PLANNED:
        return said
    if job in mixture.worse:
        return (
            f"{said} Left on its lawn, where it is short enough, it spoils nothing. Nor does it "
            "mown last, if the others are tipped before: that is one tip more."
        )
    return (
        f"{said} The worse is aboard already: what is cut at {names[job.id]} may be left on its "
        "lawn, or the body emptied before."
    )


def _names(mixture: Mixture, facts: DayFacts) -> dict[UUID, str]:
    """Return what each job's lawn is called: by its property; of two of one, each by its own."""
    jobs = (*mixture.worse, *mixture.better)
    names = {job.id: facts.properties[job.property_id].name for job in jobs}
    often = Counter(job.property_id for job in jobs)
    lawns = facts.lot_facts.lawns
    return {
        job.id: f"{names[job.id]} ({lawns[job.lawn_id].name})"
        if often[job.property_id] > 1 and job.lawn_id in lawns
        else names[job.id]
        for job in jobs
    }


def _askings(mixture: Mixture) -> Iterator[tuple[Job, str, Way]]:
    """Yield of each worse lot what to ask or say, and where the answer is kept."""
    for job in mixture.worse:
        codes = {finding.code for finding in job.findings}
        if "treatment_unknown" in codes:
            what = "Look up on the label what the product was made of that is on record for"
            way = Way(what="Keep what the label says", method="GET", href=_treatments_of(job))
        elif "treatment_known_but_not_recorded" in codes:
            what = "Record what was put on"
            way = Way(what="Record the treatment", method="POST", href="/treatments")
        else:
            what = "Ask what was put on"
            said = "Keep what the client says was put on it"
            way = Way(what=said, method="PATCH", href=f"/jobs/{job.id}")
        yield job, what, way


def _treatments_of(job: Job) -> str:
    return "/treatments" if job.lawn_id is None else f"/treatments?lawn_id={job.lawn_id}"


def _ways(mixture: Mixture, job: Job) -> Iterator[Way]:
    href = f"/jobs/{job.id}"
    if mixture.is_asked_about:
        yield from (way for _, _, way in _askings(mixture))
    if job.state is not JobState.PLANNED:
        return
    if job in mixture.worse:
        yield Way(what="Plan it last, or to be left on its lawn", method="PATCH", href=href)
    else:
        yield Way(what="Have it left on its lawn", method="PATCH", href=href)


def _at(stop: Members) -> datetime:
    return datetime.fromisoformat(stop["at"])

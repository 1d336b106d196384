"""The day itself: posted at dawn, planned, driven until eleven, and planned again."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Any, Final
from uuid import UUID

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.jobs import JobState
from service.core.loads import LoadState
from service.core.materials import ClippingsHandling, TreatmentHistory
from service.core.measures.quantities import Measure
from service.core.plans import DayPlan
from service.demo.books import Books
from service.demo.history import keep_all
from service.demo.story import ROUNDS, Visit

HAGG_LANE: Final = "Hagg Lane Composting"
AERODROME: Final = "Aerodrome Windrows"
POSTED: Final = time(6, 15)
POSTED_LATER: Final = time(9, 30)
FIRST_PLAN: Final = time(6, 30)
FIRST_CUT: Final = time(7, 45)
SITE_CALLS: Final = time(10, 20)
SITE_SHUTS: Final = time(12, 45)
NOW: Final = time(11, 0)
# So many of each round are posted at dawn, the others when the office has heard from everybody.
AT_DAWN: Final = 4
BETWEEN_JOBS: Final = timedelta(minutes=50)
# Trimming and raking included, a crew of two does some 30 m2 a minute, and needs a quarter of an
# hour to begin and end; common practice, no source.
M2_PER_MINUTE: Final = 30.0
MINUTES_AROUND: Final = 15
TIP: Final = timedelta(minutes=10)


def post_at_dawn(books: Books) -> None:
    """Keep the first jobs of every round."""
    _post(books, at=POSTED, which=slice(0, AT_DAWN))


def post_later(books: Books) -> None:
    """Keep the other jobs of every round."""
    _post(books, at=POSTED_LATER, which=slice(AT_DAWN, None))


def _post(books: Books, *, at: time, which: slice) -> None:
    books.clock.move_to(books.at(at))
    keep_all(
        books,
        [
            _job(books, crew, visit, planned_at=books.at(FIRST_CUT) + number * BETWEEN_JOBS)
            for crew, round_ in ROUNDS.items()
            for number, visit in list(enumerate(round_))[which]
        ],
    )


def _job(books: Books, crew: str, visit: Visit, *, planned_at: datetime) -> dict[str, Any]:
    lawn = books.lawns[visit.house]
    history = visit.treatment_history
    if visit.sprayed is not None:
        history = TreatmentHistory.KNOWN
    return {
        "lawn_id": lawn.id,
        "crew_id": books.crews[crew].id,
        "vehicle_id": books.vehicles[crew].id,
        "state": JobState.PLANNED,
        "planned_at": planned_at,
        "minutes_on_site": MINUTES_AROUND + round(lawn.area.si_value / M2_PER_MINUTE),
        "area_mowed": lawn.area,
        "height_removed": Measure(value=float(visit.height_mm), unit="mm"),
        "wetness": visit.wetness,
        "weeds_in_seed": visit.weeds_in_seed,
        "disease_seen": visit.disease_seen,
        "litter_seen": visit.litter_seen,
        "clippings": ClippingsHandling.LEFT if visit.left else ClippingsHandling.COLLECTED,
        "treatment_history": history,
        "remarks": visit.remarks,
    }


def plan_dawn(books: Books) -> DayPlan:
    """Plan the day before anybody has left the yard."""
    books.clock.move_to(books.at(FIRST_PLAN))
    return books.use_cases.plan_day(books.caller, books.depot.id, books.noon.date())


def drive_until_now(books: Books, plan: DayPlan) -> None:
    """Let every crew follow the first plan until eleven."""
    drive(books, plan, books.at(NOW))


def drive(books: Books, plan: DayPlan, until: datetime) -> None:
    """Let every crew follow a plan until a moment; one that is to fork over a load waits there."""
    routing: Any = plan.routing
    stays = {UUID(lot["job_id"]) for lot in routing["lots"] if lot["outcome"] == "leave_on_lawn"}
    for vehicle in routing["vehicles"]:
        if (
            vehicle["out"] is not None
            and datetime.fromisoformat(vehicle["out"]["out_since"]) <= until
        ):
            continue
        for stop in vehicle["stops"]:
            if _is_over(stop):
                continue
            if not _drive_stop(books, stop, stays=stays, until=until):
                break
    books.clock.move_to(until)


def _is_over(stop: dict[str, Any]) -> bool:
    """Tell whether nothing is left to happen at a stop: a load on its way is still to be tipped."""
    return bool(stop["done"]) and stop.get("state") != LoadState.UNDER_WAY


def _drive_stop(books: Books, stop: dict[str, Any], *, stays: set[UUID], until: datetime) -> bool:
    """Let one stop of the plan happen; False if it ends after the moment."""
    at = datetime.fromisoformat(stop["at"])
    if stop["kind"] == "job":
        return _mow(books, UUID(stop["job_id"]), began_at=at, stays=stays, until=until)
    if stop["kind"] != "drop" or at > until:
        return False
    if at + TIP <= until:
        _amend_load(books, stop, at=at + TIP, state=LoadState.DELIVERED)
        return True
    if not stop["done"]:
        _amend_load(books, stop, at=at, state=LoadState.UNDER_WAY)
    return False


def _mow(
    books: Books, job_id: UUID, *, began_at: datetime, stays: set[UUID], until: datetime
) -> bool:
    job = books.use_cases.record_jobs.read(books.caller, job_id)
    cut_at = began_at + timedelta(minutes=job.minutes_on_site)
    if cut_at > until:
        return False
    books.clock.move_to(cut_at)
    changes: dict[str, Any] = {"state": JobState.MOWN, "cut_at": cut_at}
    if job_id in stays:
        changes["clippings"] = ClippingsHandling.LEFT
    books.use_cases.record_jobs.amend(
        books.caller,
        job_id,
        changes,
        expected_version=job.version,
        reason="mown",
    )
    return True


def _amend_load(books: Books, stop: dict[str, Any], *, at: datetime, state: LoadState) -> None:
    books.clock.move_to(at)
    load = books.use_cases.papers.loads.read(books.caller, UUID(stop["load_id"]))
    changes: dict[str, Any] = {"state": state}
    if state is LoadState.DELIVERED:
        changes["done_at"] = at
    books.use_cases.update_load(books.caller, load.id, changes, expected_version=load.version)


def hear_from_sites(books: Books) -> None:
    """Let one site say that it shuts early, and another that it has room."""
    books.clock.move_to(books.at(SITE_CALLS))
    said = {
        AERODROME: LiveStatus(
            state=SiteState.OPEN,
            as_of=books.clock.now(),
            closes_early_at=books.at(SITE_SHUTS),
            note="The turner is being mended from one o'clock; last load a quarter before.",
        ),
        HAGG_LANE: LiveStatus(
            state=SiteState.OPEN,
            as_of=books.clock.now(),
            capacity_left_kg=3200.0,
            note="Room for three tonnes.",
        ),
    }
    for name, live_status in said.items():
        site = books.sites[name]
        books.sites[name] = books.use_cases.library.compost_sites.amend(
            books.caller,
            site.id,
            {"live_status": live_status},
            expected_version=site.version,
            reason="the gate telephoned",
        )
    books.clock.move_to(books.at(NOW))


def plan_now(books: Books) -> DayPlan:
    """Plan what is left of the day."""
    return books.use_cases.plan_day(books.caller, books.depot.id, books.noon.date())

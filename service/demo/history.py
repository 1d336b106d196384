"""What happened before the day: layers already on beds, treatments, mowings, a littered lot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import time, timedelta
from typing import Any, Final

from service.core.jobs import JobState
from service.core.loads import LoadState
from service.core.materials import ClippingsHandling, TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.demo.books import Books
from service.demo.story import LITTERED_YESTERDAY, PAST_ROUNDS, ROUNDS, Visit, visit_at

PAST_MOWING: Final = time(10, 0)
PAST_PLANNING: Final = time(14, 0)
MOWING_EVERY: Final = timedelta(days=7)
# What came off then, over what comes off today: the grass had been let grow longer.
LONGER_THEN: Final = 1.3


def keep_past_rounds(books: Books) -> None:
    """Keep the earlier deliveries: mown, planned on their day, tipped."""
    for days_ago, crew, houses in PAST_ROUNDS:
        _mow_and_deliver(books, crew, [visit_at(house) for house in houses], days_ago=days_ago)


def keep_littered_lot(books: Books) -> None:
    """Keep what lies in the hold bay since yesterday."""
    _mow_and_deliver(books, "Wren", [visit_at(LITTERED_YESTERDAY)], days_ago=1, litter_seen=True)


def keep_treatments(books: Books) -> None:
    """Keep what was sprayed on the lawns, and the mowings since."""
    rows = []
    for crew, round_ in ROUNDS.items():
        for visit in round_:
            sprayed = visit.sprayed
            if sprayed is None:
                continue
            books.use_cases.library.treatments.create(
                books.caller,
                {
                    "lawn_id": books.lawns[visit.house].id,
                    "product": sprayed.product,
                    "active_ingredients": sprayed.active_ingredients,
                    "applied_on": (books.noon - timedelta(days=sprayed.days_ago)).date(),
                    "statement_source": sprayed.source,
                    "stated_by": sprayed.stated_by,
                    "label_wait": sprayed.label_wait,
                },
            )
            rows += [
                past_job(
                    books,
                    crew,
                    visit,
                    days_ago=(number + 1) * MOWING_EVERY.days,
                    clippings=ClippingsHandling.LEFT,
                )
                for number in range(sprayed.mowings_since)
            ]
    keep_all(books, rows)


def past_job(
    books: Books, crew: str, visit: Visit, *, days_ago: int, **more: object
) -> dict[str, Any]:
    """Return the fields of a job that was mown some days ago."""
    lawn = books.keep_lawn(visit)
    return {
        "lawn_id": lawn.id,
        "crew_id": books.crews[crew].id,
        "vehicle_id": books.vehicles[crew].id,
        "state": JobState.MOWN,
        "cut_at": books.at(PAST_MOWING, days_ago=days_ago),
        "area_mowed": lawn.area,
        "height_removed": Measure(value=float(visit.height_mm), unit="mm"),
        "wetness": Wetness.DRY,
        "treatment_history": TreatmentHistory.NONE_RECORDED,
        **more,
    }


def keep_all(books: Books, rows: list[Mapping[str, Any]] | list[dict[str, Any]]) -> None:
    """Keep many jobs; the story has no row that is refused."""
    for answer in books.use_cases.record_jobs.create_many(books.caller, rows):
        if answer.refusal is not None:
            raise answer.refusal


def _mow_and_deliver(
    books: Books, crew: str, visits: list[Visit], *, days_ago: int, **more: object
) -> None:
    books.clock.move_to(books.at(PAST_PLANNING, days_ago=days_ago))
    keep_all(
        books,
        [
            past_job(
                books,
                crew,
                replace(visit, height_mm=LONGER_THEN * visit.height_mm),
                days_ago=days_ago,
                **more,
            )
            for visit in visits
        ],
    )
    day = books.clock.now().date()
    books.use_cases.plan_day(books.caller, books.depot.id, day)
    page = books.use_cases.papers.loads.page(
        books.caller, filters={"working_day": day, "state": LoadState.PLANNED}, limit=50
    )
    for load in sorted(page.records, key=lambda load: load.arrive_at):
        books.clock.move_to(load.arrive_at)
        books.use_cases.update_load(
            books.caller,
            load.id,
            {"state": LoadState.DELIVERED, "done_at": load.arrive_at},
            expected_version=load.version,
        )

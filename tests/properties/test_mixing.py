"""What is mixed, gone through once by its hours: the same as going on until nothing is left."""

import random
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from uuid import UUID

import pytest

from service.core.evidence.mixing import mixed_since
from service.core.mass_book import STILL, BodyStay
from tests.effort import tried
from tests.in_memory.mass_book import BodyStays

FIRM = UUID(int=0)


def at(hour):
    return datetime(2026, 5, 24, tzinfo=UTC) + timedelta(hours=hour)


def some_stays(chance):
    hours = chance.choice((4, 24))
    stays = {}
    for _ in range(chance.randint(2, 40)):
        since = chance.randrange(hours)
        stay = BodyStay(
            firm_id=FIRM,
            vehicle_id=UUID(int=chance.randint(1, 4)),
            job_id=UUID(int=chance.randint(1, 16)),
            since=at(since),
            until=chance.choice((at(chance.randint(since, hours)), at(since + 2), STILL)),
            apart_until=at(chance.randrange(hours)) if chance.random() < 0.15 else None,
        )
        stays[FIRM, stay.vehicle_id, stay.job_id, stay.since] = stay
    return stays


@pytest.mark.parametrize("seed", tried(range(4_000), 400))
def test_what_is_mixed_by_its_hours_is_all_that_is_reached_by_going_on_and_on(seed):
    chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
    stays = some_stays(chance)
    wanted = [UUID(int=one) for one in chance.sample(range(1, 17), chance.randint(1, 3))]
    told = {
        (stay.job_id, stay.vehicle_id): at(chance.randrange(24))
        for stay in stays.values()
        if chance.random() < 0.3
    }
    entries = [
        SimpleNamespace(firm_id=FIRM, lot_id=job_id, to_id=vehicle_id, created_at=hour)
        for (job_id, vehicle_id), hour in told.items()
    ]
    found = mixed_since(stays.values(), wanted, told)
    beside = {job_id: since for job_id, since in found.items() if job_id not in wanted}
    assert beside == BodyStays(stays, entries).mixed_since(FIRM, wanted)

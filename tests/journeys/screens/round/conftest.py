import pytest

from tests.journeys.screens.round.forms import SMALL, plan, speaks
from tests.screens import joined
from tests.worlds import furnish


@pytest.fixture
def yard(world):
    yard = furnish(world)
    speaks(yard, "en")
    planned = yard.job(state="planned", planned_at="2026-05-24T13:30:00Z", area_mowed=SMALL)
    del planned["cut_at"]
    yard.ids["jobs"] = yard.client.post("/jobs", json=planned).json["id"]
    plan(yard)
    return yard


@pytest.fixture
def lead(world, yard):
    return joined(world, yard, "crew", crew_id=yard.ids["crews"])

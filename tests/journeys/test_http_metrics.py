"""What whoever watches the service is told: how much, how long and how well, of nobody."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta

import pytest

from service.bootstrap import build_app
from service.gateways import measures
from service.settings import Settings, SettingsRefused
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.ports.planning_turns import PlanningTurn
from service.usecases.planning.measured import TellMeasured
from tests.database.books import DAY, NOW, Books
from tests.database.conftest import kept_books
from tests.fakes import SetClock
from tests.worlds import SETTINGS

KEY = "whoever watches, and nobody else"
WATCHED = {"Authorization": f"Bearer {KEY}"}


@pytest.fixture
def client(sqlite_url):
    return build_app(replace(SETTINGS, database_url=sqlite_url, metrics_key=KEY)).test_client()


def value(page, line):
    """Return the number behind a name and its labels; nothing is 0."""
    found = re.search(rf"^{re.escape(line)} (\S+)$", page, re.MULTILINE)
    return 0.0 if found is None else float(found[1])


def test_there_is_no_page_unless_it_is_asked_for(sqlite_url):
    quiet = build_app(replace(SETTINGS, database_url=sqlite_url)).test_client()
    assert quiet.get("/metrics", headers=WATCHED).status_code == 404
    with pytest.raises(SettingsRefused, match="CLIPPING_METRICS_KEY must have at least 32"):
        Settings.from_env({"CLIPPING_METRICS_KEY": "short"})
    assert KEY not in repr(replace(SETTINGS, metrics_key=KEY))


def test_the_page_opens_to_its_own_key_alone(client):
    assert client.get("/metrics").json["code"] == "credentials_missing"
    other = {"Authorization": "Bearer cd_of-a-firm"}
    assert client.get("/metrics", headers=other).json["code"] == "credentials_not_valid"
    assert client.get("/clients", headers=WATCHED).json["code"] == "credentials_not_valid"
    answer = client.get("/metrics", headers=WATCHED)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, measures.FORM)


def test_answers_are_counted_by_the_pattern_of_their_route(client):
    lines = (
        'clipping_requests_total{method="GET",route="/lawns/<uuid:record_id>",status="4xx"}',
        'clipping_request_seconds_count{method="GET",route="/lawns/<uuid:record_id>"}',
        'clipping_problems_total{code="credentials_missing"}',
        'clipping_requests_total{method="other",route="none",status="4xx"}',
    )
    before = client.get("/metrics", headers=WATCHED).text
    secret = "01890a5d-ac96-774b-bcce-b302099a8057"
    client.get(f"/lawns/{secret}")
    client.open(f"/{secret}", method="PROPFINDER")
    page = client.get("/metrics", headers=WATCHED).text
    assert [value(page, line) - value(before, line) for line in lines] == [1, 1, 1, 1]
    assert secret not in page


def test_what_waits_and_what_is_held_is_read_from_the_records(database_url):
    engine = make_engine(database_url)
    opener = unit_of_work_opener(engine)
    books = kept_books(opener)
    with opener() as unit:
        unit.planning_turns.ask(
            PlanningTurn(
                firm_id=books.firm.id,
                depot_id=books.depots.id,
                day=DAY,
                asked_at=NOW - timedelta(seconds=90),
            )
        )
        wanted = sum(
            amounts.counted_kg
            for _, _, amounts in unit.mass_balances.totals(books.firm.id, "hold_bay")
        )
        unit.commit()
    found = TellMeasured(open_reading=reading_opener(engine), clock=SetClock(NOW))()
    assert (found.days_waiting, found.oldest_wait_s) == (1, 90)
    assert found.held_kg == wanted
    engine.dispose()


def test_a_database_that_is_gone_is_told_and_the_rest_still_is(tmp_path):
    gone = replace(SETTINGS, database_url=f"sqlite:///{tmp_path / 'no' / 'where'}", metrics_key=KEY)
    client = build_app(gone).test_client()
    line = 'clipping_database_faults_total{kind="out_of_reach"}'
    before = client.get("/metrics", headers=WATCHED).text
    assert client.get("/clients", headers={"Authorization": "Bearer cd_x"}).status_code == 503
    page = client.get("/metrics", headers=WATCHED).text
    assert value(page, "clipping_records_read") == 0
    assert 'clipping_problems_total{code="records_out_of_reach"}' in page
    assert value(page, line) > value(before, line)


def test_a_stored_plan_is_counted_with_its_seconds_and_gap(client):
    names = ("clipping_plan_seconds_count", "clipping_plan_gap_ratio_sum")
    before = client.get("/metrics", headers=WATCHED).text
    for gap_permille in (20.0, None):  # a local answer has no bound, and no gap
        measures.plan_stored(replace(Books().day_plans, routing={"gap_permille": gap_permille}), 2)
    page = client.get("/metrics", headers=WATCHED).text
    assert [value(page, name) - value(before, name) for name in names] == [2, pytest.approx(0.02)]


COUNTS = """
import sys
from service.gateways import measures
for _ in range(int(sys.argv[1])):
    measures.database_failed("busy")
print(measures.page_of(lambda: None).decode())
"""


def test_each_process_tells_what_all_have_counted(tmp_path):
    shared = {**os.environ, measures.SHARED: str(tmp_path)}

    def told(times):
        words = [sys.executable, "-c", COUNTS, str(times)]
        return subprocess.run(words, env=shared, capture_output=True, text=True, check=True).stdout

    line = 'clipping_database_faults_total{kind="busy"}'
    assert [value(told(times), line) for times in (2, 3, 0)] == [2, 5, 5]

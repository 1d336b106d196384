"""One telephone is the office's and a crew's: each seat stays, and what ends is said before."""

import pytest

from tests.crews import Crew
from tests.screens import OURS, invite


@pytest.fixture
def firm():
    return Crew()


@pytest.fixture
def phone(firm):
    return firm.world.app.test_client()


def join(phone, firm, seat, **scope):
    """Join, and return what was shown before, and where it led."""
    link = invite(firm.yard, seat, **scope)
    shown = phone.get(link, headers={"Accept-Language": "en"}).text
    answer = phone.post(link, headers=OURS)
    assert answer.status_code == 303
    return shown, answer.headers["Location"]


def status(phone, path):
    return phone.get(path, headers={"Accept": "text/html"}).status_code


def test_joining_as_a_crew_leaves_the_office_its_seat(firm, phone):
    join(phone, firm, "dispatcher")
    shown, place = join(phone, firm, "crew", crew_id=firm.ids["crews"])
    assert "ends another seat" not in shown
    assert place == "/screens/round/"
    assert (status(phone, "/screens/day"), status(phone, "/screens/round/")) == (200, 200)
    assert phone.get("/screens").headers["Location"] == "/screens/day"


def test_who_leaves_the_round_leaves_it_alone_and_the_office_as_well(firm, phone):
    join(phone, firm, "dispatcher")
    join(phone, firm, "crew", crew_id=firm.ids["crews"])
    page = phone.get("/screens/round/").text
    assert 'action="/screens/leave?seat=crew"' in page
    assert phone.post("/screens/leave?seat=crew", headers=OURS).status_code == 200
    assert (status(phone, "/screens/day"), status(phone, "/screens/round/")) == (200, 403)
    join(phone, firm, "crew", crew_id=firm.ids["crews"])
    assert phone.post("/screens/leave", headers=OURS).status_code == 200
    assert (status(phone, "/screens/day"), status(phone, "/screens/round/")) == (403, 200)


@pytest.mark.parametrize(("first", "second"), [("crew", "crew"), ("dispatcher", "owner")])
def test_a_seat_of_the_same_kind_ends_and_the_page_says_whose(firm, phone, first, second):
    scope = {"crew_id": firm.ids["crews"]}
    join(phone, firm, first, **(scope if first == "crew" else {}))
    shown, _ = join(phone, firm, second, **(scope if second == "crew" else {}))
    assert "ends another seat on this device: <strong>Dana</strong>" in shown
    newest, before = firm.client.get("/sessions").json["items"]
    assert (before["seat"], newest["seat"]) == (first, second)
    assert before["ended_at"] is not None
    assert newest["ended_at"] is None


def test_a_device_that_joined_before_there_were_two_cookies_stays_known(firm, phone):
    join(phone, firm, "crew", crew_id=firm.ids["crews"])
    cookie = phone.get_cookie("session-8080-crew")
    phone.delete_cookie("session-8080-crew")
    phone.set_cookie("session-8080", cookie.value)
    assert status(phone, "/screens/round/") == 200
    assert phone.post("/screens/leave?seat=crew", headers=OURS).status_code == 200
    assert status(phone, "/screens/round/") == 401

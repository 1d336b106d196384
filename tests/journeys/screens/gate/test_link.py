"""A compost site answers without an account: one link, its own gate, until a day, and no more."""

import re
from dataclasses import replace
from html import unescape
from uuid import UUID

import pytest

from service import bootstrap
from service.api.books import clients, sites
from service.core.callers.access import Role
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from service.settings import Settings
from tests.journeys.screens.gate.loads import load_of
from tests.screens import OURS, joined
from tests.worlds import app_of_all_worlds

HTML = {"Accept": "text/html"}
UNTIL = "2026-06-30T18:00:00Z"


def made(yard, **said):
    body = {
        "seat": "site",
        "name": "Hill Compost",
        "compost_site_id": yard.ids["compost-sites"],
        "by_link": True,
        **said,
    }
    answer = yard.client.post("/sessions", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json


@pytest.fixture
def link(yard):
    return path_of(made(yard, until=UNTIL))


@pytest.fixture
def stranger(world):
    return world.app.test_client()


def path_of(session):
    return session["link"].removeprefix("http://127.0.0.1:8080")


def say(stranger, link, load, **form):
    return stranger.post(f"{link}/loads/{load['id']}", data=form, headers=OURS)


def decisions(yard):
    query = {"depot_id": yard.ids["depots"]}
    return yard.client.get("/days/2026-05-24/decisions", query_string=query).json["decisions"]


def test_whoever_has_the_link_sees_the_gates_day_and_nobodys_address(yard, link, stranger):
    shown = stranger.get(link)
    page, load = shown.text, load_of(yard)
    assert (shown.status_code, shown.headers["Cache-Control"]) == (200, "no-store")
    assert "Set-Cookie" not in shown.headers
    assert load["parts"][0]["lot_code"] in page
    assert re.search(r"\d kg to [\d,]+ kg", page.replace("\xa0", " "))
    assert "first cut at" in page
    assert "This link works until Tuesday" in page
    private = [
        clients.CLIENTS.example["name"],
        clients.PROPERTIES.example["address"],
        "/screens/gate",
        "/screens/leave",
        "/feeds/",
    ]
    assert [word for word in private if word in page] == []


def test_looking_changes_nothing_and_every_word_is_kept_as_the_links(world, yard, link, stranger):
    before = yard.client.get(f"/compost-sites/{yard.ids['compost-sites']}").json["version"]
    for _ in range(2):
        stranger.get(link)
    site = yard.client.get(f"/compost-sites/{yard.ids['compost-sites']}").json
    assert site["version"] == before
    form = {"state": "open", "room_kg": "900", "shuts": "16:00", "note": "turner is out"}
    answer = stranger.post(link, data=form, headers=OURS)
    assert (answer.status_code, answer.headers["Location"]) == (303, link)
    said = yard.client.get(f"/compost-sites/{site['id']}").json["live_status"]
    assert (said["capacity_left_kg"], said["note"]) == (900, "turner is out")
    assert said["as_of"] == world.clock.now().isoformat().replace("+00:00", "Z")
    *_, word = yard.client.get(f"/compost-sites/{site['id']}/history").json["items"]
    (session,) = [one for one in yard.client.get("/sessions").json["items"] if one["by_link"]]
    assert (word["key_id"], word["said_by"]) == (session["id"], "site_link")
    assert word["at"] == said["as_of"]


def test_a_load_is_weighed_or_refused_through_the_link_and_not_twice(yard, link, stranger):
    load = load_of(yard)
    ticket = {"weighed_kg": "41", "weigh_ticket": "W-9"}
    taken = {"act": "delivered", "seen": "planned", **ticket}
    assert say(stranger, link, load, **taken).status_code == 303
    kept = load_of(yard)
    assert (kept["state"], kept["weighed_net_kg"]) == ("delivered", 41)
    refused = {"act": "refused", "seen": "planned", "refusal_reason": "X"}
    again = stranger.post(f"{link}/loads/{load['id']}", data=refused, headers={**OURS, **HTML})
    assert again.status_code == 409
    assert f'href="{link}"' in again.text
    *_, word = yard.client.get(f"/loads/{load['id']}/history").json["items"]
    assert word["said_by"] == "site_link"


def test_who_must_decide_reads_that_a_load_was_turned_away_by_the_link(yard, link, stranger):
    refused = {"act": "refused", "seen": "planned", "refusal_reason": "Litter in it"}
    assert say(stranger, link, load_of(yard), **refused).status_code == 303
    assert len(yard.client.get("/day-plans").json["items"]) == 2
    (told,) = [one for one in decisions(yard) if one["code"] == "turned_away"]
    assert "Litter in it" in told["sentence"]
    assert told["sentence"].endswith("Said by the link of the site.")


def test_a_word_of_the_office_after_the_links_is_the_offices(yard, link, stranger):
    load = load_of(yard)
    assert say(stranger, link, load, act="here", seen="planned").status_code == 303
    (told,) = [one for one in decisions(yard) if one["code"] == "at_gate"]
    assert told["sentence"].endswith("Said by the link of the site.")
    there = {"at_gate_at": "2026-05-24T11:00:00Z"}
    amended = yard.client.patch(f"/loads/{load['id']}", json=there, headers={"If-Match": "*"})
    assert amended.status_code == 200, amended.text
    (told,) = [one for one in decisions(yard) if one["code"] == "at_gate"]
    assert "link" not in told["sentence"]


def test_a_site_says_that_it_is_full_or_shut_and_the_office_is_told_by_whom(
    world, yard, link, stranger
):
    assert stranger.post(link, data={"state": "full"}, headers=OURS).status_code == 303
    site = f"/compost-sites/{yard.ids['compost-sites']}"
    said = yard.client.get(site).json["live_status"]
    assert (said["state"], said["capacity_left_kg"]) == ("open", 0)
    assert "You said at 13:00: full." in stranger.get(link).text
    assert stranger.post(link, data={"state": "closed"}, headers=OURS).status_code == 303
    load = load_of(yard)
    locked = yard.client.get(f"/loads/{load['id']}").json
    assert locked["state"] == "superseded"
    # The word grows old with its day, as every word of a gate does.
    world.clock.move(days=1)
    verdict = yard.client.get(site).json["live_status"]
    assert verdict["as_of"].startswith("2026-05-24")


def test_another_sites_load_is_not_there_and_no_other_screen_either(yard, link, stranger):
    other = {**sites.SITES[-1].example, "name": "Other"}
    site_id = yard.client.post("/compost-sites", json=other).json["id"]
    theirs = path_of(made(yard, compost_site_id=site_id))
    load = load_of(yard)
    assert say(stranger, theirs, load, act="delivered", seen="planned").status_code == 404
    assert load["parts"][0]["lot_code"] not in stranger.get(theirs).text
    for path in ("/screens/gate", "/screens/day", "/loads", f"/loads/{load['id']}"):
        assert stranger.get(path).status_code == 401, path
    token = link.rpartition("/")[2]
    assert stranger.get(f"/join/{token}").status_code == 410
    assert stranger.post(f"/join/{token}", headers=OURS).status_code == 410
    with_it = {"Authorization": f"Bearer {token}"}
    assert stranger.get("/loads", headers=with_it).status_code == 401
    invited = yard.client.post("/sessions", json={"seat": "dispatcher", "name": "Dana"}).json
    assert stranger.get(f"/gate/{invited['link'].rpartition('/')[2]}").status_code == 410


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "none"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
    ],
)
def test_what_another_page_sends_through_the_link_changes_nothing(yard, link, stranger, headers):
    answer = stranger.post(link, data={"state": "closed"}, headers=headers)
    assert (answer.status_code, answer.json["code"]) == (403, "other_origin")
    site = yard.client.get(f"/compost-sites/{yard.ids['compost-sites']}").json
    assert site["live_status"]["state"] != "closed"


@pytest.mark.parametrize("code", ["en", *(code for code in LANGUAGES if code != "en")])
def test_a_link_ends_on_its_day_and_says_whom_to_ask_in_its_readers_language(
    world, link, stranger, code
):
    address = f"{link}?language={code}"
    own = Reader(code)
    assert own.text("gate.coming") in unescape(stranger.get(address).text)
    world.clock.move(days=38)
    ended = stranger.get(address, headers=HTML)
    assert ended.status_code == 410
    phone = "+44 20 7946 0000"
    sentence = own.text("refusal.gate_link_ended").format(firm="Meadow & Daughter", phone=phone)
    assert sentence in unescape(ended.text)
    assert stranger.post(link, data={"state": "closed"}, headers=OURS).status_code == 410


def test_a_withdrawn_link_is_dead_at_once_and_a_false_one_proves_nothing(yard, stranger):
    session = made(yard)
    link = path_of(session)
    assert stranger.get(link).status_code == 200
    ended = yard.client.post(f"/sessions/{session['id']}/end").json
    assert (ended["link"], ended["ended_at"] is None) == (None, False)
    assert stranger.get(link).json["code"] == "gate_link_ended"
    for token in ("A" * 43, "x", "é", link.rpartition("/")[2][:-4] + "AAAA"):
        answer = stranger.get(f"/gate/{token}")
        assert (answer.status_code, answer.json["code"]) == (410, "link_spent")


def test_a_session_that_is_no_link_any_more_opens_no_gate(world, yard, stranger):
    session = made(yard)
    with world.open_unit_of_work() as unit:
        kept = unit.sessions.find(UUID(session["id"]))
        unit.sessions.add(replace(kept, by_link=False))
        unit.commit()
    assert stranger.get(path_of(session)).json["code"] == "link_spent"


def test_a_link_outlives_a_change_of_keys_as_long_as_the_former_one_verifies(world, link):
    former = Settings(
        database_url="sqlite://",
        signing_key="another signing key for tests, no other",
        former_signing_keys=("a signing key for tests only, no other",),
    )
    changing = {
        "open_unit_of_work": world.open_unit_of_work,
        "open_reading": world.open_unit_of_work,
        "clock": world.clock,
        "identifiers": world.identifiers,
    }
    token = link.rpartition("/")[2]
    sessions = bootstrap.sessions_of(former, **changing)
    assert sessions.by_link(token).name == "Hill Compost"
    other = bootstrap.sessions_of(replace(former, former_signing_keys=()), **changing)
    with pytest.raises(Exception, match="too old"):
        other.by_link(token)


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ({"seat": "dispatcher", "compost_site_id": None}, "/by_link"),
        ({"until": "2026-05-24T11:00:00Z"}, "/until"),
        ({"until": "2027-06-01T00:00:00Z"}, "/until"),
        ({"by_link": False, "until": UNTIL}, "/until"),
        ({"compost_site_id": "0192f0c1-2b3c-7def-8123-456789abcdef"}, "/compost_site_id"),
    ],
)
def test_what_a_link_cannot_be_is_refused_by_name(yard, said, pointer):
    body = {
        "seat": "site",
        "name": "Hill",
        "compost_site_id": yard.ids["compost-sites"],
        "by_link": True,
        **said,
    }
    body = {name: value for name, value in body.items() if value is not None}
    answer = yard.client.post("/sessions", json=body)
    assert answer.status_code == 422, answer.text
    assert pointer in [fault["pointer"] for fault in answer.json["errors"]]


def test_only_the_office_makes_and_withdraws_links(world, yard):
    session = made(yard)
    body = {"seat": "site", "name": "X", "by_link": True}
    body["compost_site_id"] = yard.ids["compost-sites"]
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
    for role in (Role.SITE, Role.CREW, Role.CLIENT, Role.INTEGRATOR):
        other = world.client(firm.id, role)
        assert other.post("/sessions", json=body).status_code == 403
        assert other.post(f"/sessions/{session['id']}/end").status_code == 403
    elsewhere = world.client(world.firm("Elsewhere"))
    assert elsewhere.post(f"/sessions/{session['id']}/end").status_code == 404


def test_the_dispatcher_makes_a_link_on_the_screen_of_people_and_withdraws_it(
    world, yard, stranger
):
    office = joined(world, yard, "dispatcher")
    form = {
        "seat": "site",
        "name": "Hill Compost",
        "compost_site_id": yard.ids["compost-sites"],
        "until": "2026-06-30",
    }
    answer = office.post("/screens/people/links", data=form, headers=OURS)
    assert answer.status_code == 303, answer.text
    page = office.get("/screens/people").text
    assert "opens its gate until 30 June 2026" in page
    link = re.search(r"http://127\.0\.0\.1:8080(/gate/[\w-]+)", page)[1]
    assert stranger.get(link).status_code == 200
    session_id = answer.headers["Location"].partition("#")[2]
    place = f"/screens/people/{session_id}/end"
    assert f'action="{place}"' in page
    assert office.post(place, headers=OURS).status_code == 303
    assert stranger.get(link).status_code == 410
    assert link not in office.get("/screens/people").text


def test_a_link_has_a_budget_of_its_own(yard, stranger, monkeypatch):
    budgets = app_of_all_worlds().extensions["budgets"]
    one, other = path_of(made(yard)), path_of(made(yard))
    monkeypatch.setattr(budgets, "requests", 3)
    monkeypatch.setattr(budgets, "clock", lambda: 1_000_000.0)  # stands: nothing is forgotten
    budgets.spent.clear()
    answers = [stranger.get(one) for _ in range(4)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert (answers[-1].json["code"], answers[-1].headers["Retry-After"]) == ("budget_spent", "20")
    assert stranger.get(other).status_code == 200
    budgets.spent.clear()

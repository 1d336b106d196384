"""Joining by a link that works once; what a cookie opens, from where, and until when."""

import re
from html import unescape

import pytest
from structlog.testing import capture_logs

from service.bootstrap import needs_of
from service.core.callers.access import Role
from service.core.errors import RecordsOutOfReach
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from service.pages.entrance import Entrance
from service.settings import Settings
from tests.screens import OURS, invite, joined
from tests.worlds import app_of_all_worlds, furnish

SIGNING_KEY = "a signing key for tests only, no other"


def session_of(yard):
    return yard.client.get("/sessions").json["items"][0]


def test_a_link_that_is_looked_at_is_not_used_and_used_once_it_is_spent(world, yard):
    link = invite(yard, "crew", crew_id=yard.ids["crews"])
    device = world.app.test_client()
    for _ in range(2):
        shown = device.get(link)
        assert shown.status_code == 200
        assert "Dana" in shown.text
    assert session_of(yard)["joined_at"] is None
    assert device.post(link, headers=OURS).status_code == 303
    assert device.get("/screens").status_code in {200, 303}
    other = world.app.test_client()
    assert other.get(link).status_code == 410
    assert other.post(link, headers=OURS).status_code == 410
    assert other.get("/screens").status_code == 401


@pytest.mark.parametrize("code", [code for code in LANGUAGES if code != "en"])
def test_a_link_is_read_in_the_language_that_is_chosen_on_its_page(world, yard, code):
    device, link = (
        world.app.test_client(),
        invite(yard, "site", compost_site_id=yard.ids["compost-sites"]),
    )
    assert "Join on this device" in device.get(link, headers={"Accept-Language": "en"}).text
    page = device.get(f"{link}?language={code}", headers={"Accept-Language": "en"})
    own = Reader(code)
    assert f'<html lang="{code}">' in page.text
    assert own.text("join.button") in unescape(page.text)
    assert "Join on" not in page.text
    device.post(link, headers=OURS)
    spent = device.get(link, headers={"Accept": "text/html"})
    assert (spent.status_code, own.text("refusal.link_spent") in unescape(spent.text)) == (
        410,
        True,
    )


def test_without_a_choice_a_link_is_read_in_the_browsers_language(world, yard):
    page = world.app.test_client().get(
        invite(yard, "dispatcher"), headers={"Accept-Language": "ro-MD, en;q=0.5"}
    )
    assert '<html lang="ro">' in page.text


def test_a_link_that_nobody_made_opens_nothing(world):
    for token in ("A" * 43, "x", "~" * 43, "é"):
        assert world.app.test_client().get(f"/join/{token}").status_code == 410


def test_a_link_is_too_old_after_three_days(world, yard):
    link = invite(yard, "dispatcher")
    world.clock.move(days=3, seconds=1)
    assert world.app.test_client().post(link, headers=OURS).status_code == 410
    assert session_of(yard)["link"] is None


def test_whoever_is_shown_out_is_out_at_once_and_a_withdrawn_link_is_dead(world, yard):
    device = joined(world, yard, "dispatcher")
    assert device.get("/screens").status_code in {200, 303}
    yard.client.post(f"/sessions/{session_of(yard)['id']}/end")
    assert device.get("/screens").status_code == 401
    link = invite(yard, "dispatcher")
    yard.client.post(f"/sessions/{session_of(yard)['id']}/end")
    assert world.app.test_client().post(link, headers=OURS).status_code == 410


def test_a_session_ends_after_a_month_or_when_its_person_leaves(world, yard):
    device = joined(world, yard, "dispatcher")
    assert device.post("/screens/leave", headers=OURS).status_code == 200
    assert device.get("/screens").status_code == 401
    device = joined(world, yard, "dispatcher")
    world.clock.move(days=31, seconds=1)
    assert device.get("/screens").status_code == 401


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "none"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999", "Sec-Fetch-Site": "same-origin"},
    ],
)
def test_what_another_page_sends_in_somebodys_name_changes_nothing(world, yard, headers):
    device = joined(world, yard, "dispatcher")
    assert device.post("/screens/leave", headers=headers).status_code == 403
    assert device.get("/screens").status_code in {200, 303}
    link = invite(yard, "dispatcher")
    assert world.app.test_client().post(link, headers=headers).status_code == 403
    assert session_of(yard)["joined_at"] is None


@pytest.mark.parametrize("origin", ["http://127.0.0.1:8080", "http://localhost"])
def test_an_older_browser_is_told_by_its_origin(world, yard, origin):
    device = joined(world, yard, "dispatcher")
    assert device.post("/screens/leave", headers={"Origin": origin}).status_code == 200


def test_a_cookie_is_no_key_and_a_key_is_no_cookie(world, yard):
    device = joined(world, yard, "owner")
    assert device.get("/jobs").status_code == 401
    assert yard.client.get("/screens").status_code == 401


def test_scripts_cannot_read_the_cookie_and_it_is_kept_as_a_hash(world, yard):
    device = world.app.test_client()
    answer = device.post(invite(yard, "owner"), headers=OURS)
    said = answer.headers["Set-Cookie"]
    assert "HttpOnly" in said
    assert "SameSite=Lax" in said
    secret = re.match(r"session-8080=([^;]+)", said)[1]
    with world.open_unit_of_work() as unit:
        (kept,) = [one for one in unit.sessions.all(_firm_of(unit)) if one.joined_at]
        assert secret not in repr(kept)
        assert kept.secret_sha256 != secret


def _firm_of(unit):
    (firm,) = unit.firms.all()
    return firm.id


def entrance(public_url):
    settings = Settings(database_url="sqlite://", signing_key=SIGNING_KEY, public_url=public_url)

    class Nothing:
        def __getattr__(self, name):
            return None

    return Entrance(needs_of(settings, Nothing(), spending=None))


def test_behind_tls_the_cookie_is_bound_to_the_host_and_in_the_clear_nobody_joins():
    assert entrance("https://mow.example.org").cookie == "__Host-session"
    for private in ("https://mow.example.org", "http://127.0.0.1:8080", "http://localhost"):
        entrance(private).refuse_in_public()
    with pytest.raises(Exception, match="plain HTTP"):
        entrance("http://mow.example.org").refuse_in_public()


def test_nobody_invites_above_themselves(world):
    firm_id = world.firm()
    dispatcher = world.client(firm_id, Role.DISPATCHER)
    assert dispatcher.post("/sessions", json={"seat": "owner", "name": "X"}).status_code == 403
    assert dispatcher.post("/sessions", json={"seat": "site", "name": "X"}).status_code == 422
    crew = world.client(firm_id, Role.CREW)
    assert crew.post("/sessions", json={"seat": "dispatcher", "name": "X"}).status_code == 403


def test_nobody_is_shown_a_link_above_themselves_nor_shows_an_owner_out(world):
    """A link lets in whoever opens it: a dispatcher with an owner's would be an owner."""
    firm_id = world.firm()
    yard = furnish(world, firm_id)
    dispatcher = joined(world, yard, "dispatcher")
    with_key = world.client(firm_id, Role.DISPATCHER)
    link = invite(yard, "owner")
    owner = session_of(yard)
    assert owner["link"].endswith(link)
    (told, *_) = with_key.get("/sessions").json["items"]
    assert (told["id"], told["link"]) == (owner["id"], None)
    shown = dispatcher.get("/screens/people").text
    assert link not in shown
    assert "invited, not joined yet" in shown
    assert with_key.post(f"/sessions/{owner['id']}/end").status_code == 403
    end = f"/screens/people/{owner['id']}/end"
    assert dispatcher.post(end, headers=OURS).status_code == 403
    assert link in joined(world, yard, "owner").get("/screens/people").text
    assert session_of(yard)["ended_at"] is None


def test_nobody_is_shown_out_by_one_tap_and_who_is_out_is_folded_away(world, yard):
    office = joined(world, yard, "owner")
    invite(yard, "dispatcher")
    end = f"/screens/people/{session_of(yard)['id']}/end"
    asked, folded, _ = office.get("/screens/people").text.partition("their link ended")
    before, _, after = asked.partition(f'action="{end}"')
    assert after
    assert before.rfind("<details") > before.rfind("</details>")
    assert not folded
    office.post(end, headers=OURS)
    listed, _, past = office.get("/screens/people").text.partition("Out, or their link ended: 1")
    assert "out since" in past
    assert "out since" not in listed


def test_a_crew_or_site_is_named_where_the_seat_asks_for_one_and_nowhere_else(yard):
    wrong = [
        {"seat": "crew"},
        {"seat": "owner", "crew_id": yard.ids["crews"]},
        {"seat": "crew", "crew_id": yard.ids["lawns"]},
        {"seat": "site", "compost_site_id": yard.ids["crews"]},
    ]
    for body in wrong:
        answer = yard.client.post("/sessions", json={"name": "X", **body})
        assert answer.status_code == 422, body
        assert answer.json["errors"], body


def test_no_screen_loads_or_runs_anything_that_is_not_its_own(world, yard):
    page = joined(world, yard, "owner").get(invite(yard, "owner"))
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'none'; script-src 'self'; style-src 'self';" in policy
    assert "unsafe" not in policy
    assert not re.search(r"<script(?![^>]* src=)|<style| style=| on\w+=|https?://", page.text)


def test_every_file_of_the_screens_is_served_and_nothing_beside_them():
    client = app_of_all_worlds().test_client()
    assert client.get("/screens/assets/screens.css").mimetype == "text/css"
    for name in ("../words.py", "..%2fwords.py", "none.js", "words.py", "screens"):
        assert client.get(f"/screens/assets/{name}").status_code == 404


def test_an_address_that_leads_nowhere_is_a_page_to_people_and_a_problem_to_programs(world):
    device = world.app.test_client()
    for address in ("/screens/dya", "/screens/", "/notes/torn-off", "/notes/"):
        page = device.get(address, headers={"Accept": "text/html,*/*;q=0.8"})
        assert (page.status_code, page.mimetype) == (404, "text/html")
        assert "There is nothing at this address" in page.text
        asked = device.get(address, headers={"Accept": "application/json"})
        assert (asked.status_code, asked.json["code"]) == (404, "route_missing")


@pytest.mark.parametrize(
    ("broken", "told"),
    [
        (RuntimeError("bug"), (500, "Coś się zepsuło")),
        (RecordsOutOfReach(), (503, "Zapisy są teraz niedostępne")),
    ],
)
def test_what_breaks_is_told_to_people_in_their_words_and_to_scripts_as_a_problem(
    world, yard, monkeypatch, broken, told
):
    status, said = told

    def breaks(*_):
        raise broken

    office = joined(world, yard, "owner")
    monkeypatch.setattr("service.pages.setup.screen.steps_of", breaks)
    polish = {"Accept": "text/html", "Accept-Language": "pl"}
    with capture_logs():
        page = office.get("/screens/setup", headers=polish)
        asked = office.get("/screens/setup", headers={"Accept": "application/problem+json"})
    assert (page.status_code, page.mimetype) == (status, "text/html")
    assert said in page.text
    assert (asked.status_code, asked.mimetype) == (status, "application/problem+json")
    assert "bug" not in asked.text


def test_who_is_there_stands_before_the_forms_and_a_link_just_made_lies_open(world, yard):
    office = joined(world, yard, "owner")
    crew = yard.client.get(f"/crews/{yard.ids['crews']}").json["name"]
    asked = {"seat": "crew", "name": "Kasia", "crew_id": yard.ids["crews"]}
    made = office.post("/screens/people", data=asked, headers=OURS).headers["Location"]
    page = office.get(made).text
    assert page.index('id="known"') < page.index('id="invite"') < page.index('id="gate"')
    row = page.partition("<strong>Kasia</strong>")[2].partition("</li>")[0]
    assert f"crew lead of {crew}" in row
    assert "<details open><summary>The link, for their camera" in row


def test_whoever_opens_a_screen_without_having_joined_reads_in_its_title_what_to_do(world):
    asked = {"Accept": "text/html", "Accept-Language": "es"}
    answer = world.app.test_client().get("/screens/day", headers=asked)
    assert answer.status_code == 401
    assert "<title>Primero hay que entrar</title>" in answer.text

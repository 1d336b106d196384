"""The owner hands out what is kept of a client and erases it from a screen; nobody else does."""

import pytest

from service.core.personal.register import OF_CLIENTS, Fate
from service.pages.persons.screen import STAYS
from tests.marked import MARK, Marked
from tests.screens import OURS, joined

SAID = {"asked_by": "client", "reason": "Moved away.", "sure": "yes"}


@pytest.fixture
def firm():
    return Marked()


@pytest.fixture
def owner(firm):
    return joined(firm.world, firm.yard, "owner")


def address(firm):
    return f"/screens/clients/{firm.id}"


def test_the_owner_finds_it_beside_each_client_and_the_dispatcher_does_not(firm, owner):
    assert "/screens/clients" in owner.get("/screens/setup").text
    assert address(firm) in owner.get("/screens/clients").text
    assert address(firm) in owner.get(f"/screens/clients?find={MARK.upper()}").text
    assert "Nobody of that name." in owner.get("/screens/clients?find=Nobody").text
    dispatcher = joined(firm.world, firm.yard, "dispatcher")
    assert "/screens/clients" not in dispatcher.get("/screens/setup").text
    assert dispatcher.get("/screens/clients").status_code == 403
    assert dispatcher.get(address(firm)).status_code == 403
    assert dispatcher.get(f"{address(firm)}.json").status_code == 403
    assert dispatcher.post(address(firm), data=SAID, headers=OURS).status_code == 403


def test_the_file_has_all_that_is_kept_of_the_client(firm, owner):
    told = owner.get(f"{address(firm)}.json")
    assert "attachment" in told.headers["Content-Disposition"]
    assert told.json["client"]["name"] == f"{MARK} name"


def test_what_stays_is_read_before_anything_is_erased(firm, owner):
    shown = owner.get(address(firm)).text
    assert {f"{line.table}.{line.field}" for line in OF_CLIENTS if line.fate is Fate.KEPT} == set(
        STAYS
    )
    assert all(what in shown for what in STAYS.values())
    assert "1107/2009" in shown


@pytest.mark.parametrize("left_out", sorted(SAID))
def test_nobody_is_erased_by_half_a_form(firm, owner, left_out):
    said = {name: word for name, word in SAID.items() if name != left_out}
    assert owner.post(address(firm), data=said, headers=OURS).status_code == 422
    assert firm.client.get(f"/clients/{firm.id}").json["state"] == "kept"


def test_an_erased_client_is_shown_as_erased_and_offered_to_no_new_place(firm, owner):
    answer = owner.post(address(firm), data=SAID, headers=OURS)
    assert answer.status_code == 303
    shown = owner.get(answer.headers["Location"]).text
    assert "Moved away." in shown
    assert "Erase for good" not in shown
    for page in ("clients", "setup", "setup/lawns", "setup/beds", "day", "evening", "month"):
        told = owner.get(f"/screens/{page}")
        assert told.status_code == 200
        assert MARK not in told.text
        assert '<option value="erased">' not in told.text


def test_what_stands_against_erasing_is_told_on_the_page(firm, owner):
    firm.plan_to_mow(firm.own_lawn)
    answer = owner.post(address(firm), data=SAID, headers=OURS)
    assert answer.status_code == 409
    assert "planned to be mown" in answer.text

"""A day is closed: what it came to is kept, what comes later is listed against it, sums follow."""

import csv
import io
from dataclasses import replace
from math import ceil

import pytest

from service.usecases.mass_book.checking import CheckMassBook
from service.usecases.telling.evening import closing
from service.usecases.telling.evening.evening import evening_of
from tests.crews import Crew
from tests.holds import Yard
from tests.journeys.test_http_unplanned import tip
from tests.loading import Loading
from tests.worlds import work

DAY = "2026-05-24"


def amend(client, path, patch, **headers):
    version = client.get(path).headers["ETag"]
    answer = client.patch(path, json=patch, headers={"If-Match": version, **headers})
    assert answer.status_code == 200, answer.text
    return answer.json


def sums(client, ids, of, **more):
    query = {"depot_id": ids["depots"], "since": DAY, "until": DAY, **more}
    answer = client.get("/totals", query_string=query)
    assert answer.status_code == 200, answer.text
    return {row["name"]: row for row in answer.json["sums"] if row["by"] == of}, answer.json


def test_what_comes_after_the_close_of_a_day_is_a_correction_listed_against_it(yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    at = f"/days/{DAY}/closing?depot_id={ids['depots']}"
    assert client.get(at).json["code"] == "not_closed_yet"
    amend(client, f"/loads/{ids['loads']}", {"state": "delivered"})
    closed = client.post(at, json={"remarks": "=HYPERLINK(1)"})
    assert closed.status_code == 201, closed.text
    content = closed.json["content"]
    assert {item["kind"] for item in content["sums"]} == {"bed"}
    owners = {item["owner"] for item in content["still_open"]}
    assert "crew" in owners
    assert closed.json["late"] == []
    assert client.get(at).json["sha256"] == closed.json["sha256"]

    weighed = {"weighed_net": {"value": 20, "unit": "kg"}, "weigh_ticket": "W-9"}
    amend(client, f"/loads/{ids['loads']}", {**weighed, "ticket_review": "accepted"})
    late = client.get(at).json
    assert late["content"] == content
    assert {entry["cause_id"] for entry in late["late"]} == {ids["loads"]}
    assert any(entry["corrects_id"] for entry in late["late"])
    again = client.post(at, json={}).json
    assert (again["sequence"], again["late"]) == (2, [])
    assert again["sha256"] != late["sha256"]
    ahead = client.post(f"/days/2026-05-30/closing?depot_id={ids['depots']}", json={})
    assert ahead.status_code == 422


def test_a_closing_contradicts_its_own_balances_nowhere_though_no_plan_knows_of_them():
    yard = Yard()
    first = yard.mow(yard.lawn("First"), at="11:00")
    yard.routing()
    at = yard.world.clock.now().isoformat()
    job = yard.mow(yard.lawn("Left"), at="11:20", clippings="left")
    tip = {
        "destination_kind": "compost_site",
        "destination_id": yard.ids["compost-sites"],
        "vehicle_id": yard.ids["vehicles"],
        "done_at": at,
        "parts": [{"job_id": first}],
    }
    yard.post("/loads", tip)
    where = f"/days/{DAY}/closing?depot_id={yard.ids['depots']}"
    content = yard.client.post(where, json={}).json["content"]
    assert "vehicle" not in {one["place_kind"] for one in content["balances"]}
    codes = {item["code"] for item in content["still_open"]}
    assert codes.isdisjoint({"aboard", "loads_open", "jobs_open"})
    likely_kg = yard.client.get(f"/jobs/{job}").json["estimate"]["mass_kg"]["likely"]
    assert content["left_on_lawns_kg"] == round(likely_kg, 1)
    yard.routing()
    planned = yard.client.post(where, json={}).json["content"]
    assert planned["left_on_lawns_kg"] == content["left_on_lawns_kg"]


def test_what_is_aboard_and_ahead_at_the_close_is_told_by_the_records():
    yard = Yard()
    job = yard.mow(yard.lawn("First"), at="11:00")
    ahead = yard.plan_to_mow(yard.lawn("Second"))
    yard.routing()
    where = f"/days/{DAY}/closing?depot_id={yard.ids['depots']}"
    told = {
        one["code"]: one for one in yard.client.post(where, json={}).json["content"]["still_open"]
    }
    high_kg = yard.client.get(f"/jobs/{job}").json["estimate"]["mass_kg"]["high"]
    assert f"{ceil(high_kg)} kg aboard" in told["aboard"]["sentence"]
    assert told["loads_open"]["count"] >= 1
    assert told["jobs_open"]["count"] == 1
    yard.patch(f"/jobs/{ahead}", {"state": "cancelled"})
    later = yard.client.post(where, json={}).json["content"]["still_open"]
    assert "jobs_open" not in {one["code"] for one in later}


def test_a_day_closed_twice_with_nothing_changed_is_closed_once_and_keeps_its_remarks(yard):
    at = f"/days/{DAY}/closing?depot_id={yard.ids['depots']}"
    first = yard.client.post(at, json={"remarks": "Two lawns were too wet."})
    again = yard.client.post(at, json={})
    assert (first.status_code, again.status_code) == (201, 200), again.text
    assert again.json == first.json
    other = yard.client.post(at, json={"remarks": "Three."})
    assert (other.status_code, other.json["sequence"]) == (201, 2)
    assert yard.client.get(at).json["remarks"] == "Three."


def test_what_is_entered_while_a_day_is_being_closed_is_late_or_in_its_sums(yard, monkeypatch):
    yard = work(yard)
    client, ids = yard.client, yard.ids

    def told_while_a_load_is_tipped(*told, **more):
        monkeypatch.undo()
        amend(client, f"/loads/{ids['loads']}", {"state": "delivered"})
        return evening_of(*told, **more)

    monkeypatch.setattr(closing, "evening_of", told_while_a_load_is_tipped)
    at = f"/days/{DAY}/closing?depot_id={ids['depots']}"
    content = client.post(at, json={}).json["content"]
    assert content["sums"] == []
    late = client.get(at).json["late"]
    assert {entry["cause_id"] for entry in late} == {ids["loads"]}


def test_the_check_of_the_book_finds_a_closing_that_is_not_as_it_was_kept(world, yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    client.post(f"/days/{DAY}/closing?depot_id={ids['depots']}", json={})
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        (kept,) = unit.day_closings.all(firm.id)
    check = CheckMassBook(open_reading=world.open_unit_of_work)
    assert check(firm.id).differences == ()
    with world.open_unit_of_work() as unit:
        changed = replace(kept, content={**kept.content, "balances": []}, version=kept.version + 1)
        assert changed.content != kept.content
        unit.day_closings.replace(changed, expected_version=kept.version)
        unit.commit()
    (difference,) = check(firm.id).differences
    assert "24 May 2026" in difference


def test_sums_tell_tonnes_weights_and_costs_and_tables_hold_no_formula(yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    amend(client, f"/clients/{ids['clients']}", {"name": "=1+1"})
    load = amend(client, f"/loads/{ids['loads']}", {"state": "delivered"})
    by_outcome, told = sums(client, ids, "outcome")
    likely_kg = load["mass_kg"]["likely"]
    assert by_outcome["bed"]["mass_kg"]["likely"] == pytest.approx(likely_kg, abs=0.001)
    (cost,) = told["costs"]
    assert cost["tips"] == 1
    assert cost["time_cents"] > 0
    by_client, _ = sums(client, ids, "client_laid")
    assert by_client["=1+1"]["counted_kg"] == by_outcome["bed"]["counted_kg"]
    cut, _ = sums(client, ids, "client_cut")
    assert cut["=1+1"]["counted_kg"] > by_client["=1+1"]["counted_kg"]
    weighed = {"weighed_net": {"value": 20, "unit": "kg"}, "weigh_ticket": "W-9"}
    amend(client, f"/loads/{ids['loads']}", {**weighed, "ticket_review": "accepted"})
    by_week, _ = sums(client, ids, "outcome", by="week", since="2026-05-18", until="2026-05-31")
    bed = by_week["bed"]
    assert (bed["from"], bed["until"], bed["weighed_kg"]) == ("2026-05-18", "2026-05-24", 20.0)
    assert bed["estimated_of_weighed_kg"] == bed["mass_kg"]["likely"]
    query = {"depot_id": ids["depots"], "since": DAY, "until": DAY}
    table = client.get("/totals", query_string=query, headers={"Accept": "text/csv"})
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert "'=1+1" in {row["name"] for row in rows}
    assert [row["by"] for row in rows].count("cost") == 1
    backwards = client.get("/totals", query_string={**query, "until": "2026-05-01"})
    assert backwards.status_code == 422


def test_what_was_held_and_released_on_a_day_is_counted_once_in_its_closing_as_in_its_totals():
    held = Yard()
    held.patch(held.bed, {"consent": {"state": "refused"}})
    held.held()
    held.patch(held.bed, {"consent": {"state": "given"}})
    held.world.clock.move(minutes=10)
    (entry,) = held.client.get("/hold-entries").json["items"]
    depot = {"depot_id": held.ids["depots"]}

    def told():
        closed = held.client.post(f"/days/{DAY}/closing", query_string=depot, json={})
        assert closed.status_code == 201, closed.text
        rows, _ = sums(held.client, held.ids, "outcome")
        names = ("likely_kg", "low_kg", "high_kg")
        by_kind = {one["kind"]: one for one in closed.json["content"]["sums"]}
        assert by_kind.keys() == rows.keys()
        for kind, row in rows.items():
            assert [by_kind[kind][name] for name in names] == [
                round(row["mass_kg"][name.removesuffix("_kg")], 1) for name in names
            ]
        return by_kind

    in_bay = told()["hold_bay"]["likely_kg"]
    released = {
        "state": "released",
        "released_to_kind": "bed",
        "released_to_id": held.ids["beds"],
        "released_with_id": held.ids["vehicles"],
    }
    held.patch(f"/hold-entries/{entry['id']}", released)
    after = told()
    assert sum(one["likely_kg"] for one in after.values()) == in_bay
    assert (after["bed"]["likely_kg"], after["hold_bay"]["likely_kg"]) == (in_bay, 0.0)
    amend(held.client, f"/hold-entries/{entry['id']}", {"state": "in_bay"})
    gone = {"state": "released", "released_as": "elsewhere", "released_to": "the allotments"}
    held.patch(f"/hold-entries/{entry['id']}", gone)
    after = told()
    assert (after["elsewhere"]["likely_kg"], after["elsewhere"]["loads"]) == (in_bay, 0)


def test_what_was_loaded_in_the_bay_and_tipped_later_is_counted_once_by_outcome_place_and_status():
    yard = Loading()
    cut, _ = sums(yard.client, yard.ids, "client_cut")
    yard.load()
    aboard = [sums(yard.client, yard.ids, by)[0] for by in ("outcome", "place", "status")]
    assert [sum(row["counted_kg"] for row in rows.values()) for rows in aboard] == [0.0] * 3
    yard.tip()
    of_cut = sum(row["counted_kg"] for row in cut.values())
    for by in ("outcome", "place", "status"):
        rows, _ = sums(yard.client, yard.ids, by)
        assert sum(row["counted_kg"] for row in rows.values()) == pytest.approx(of_cut, abs=0.2)
        assert all(row["counted_kg"] >= 0.0 for row in rows.values())


def test_what_was_held_over_night_is_never_less_than_nothing_and_is_said_to_be_carried_over():
    held = Yard()
    held.patch(held.bed, {"consent": {"state": "refused"}})
    held.held()
    held.patch(held.bed, {"consent": {"state": "given"}})
    (entry,) = held.client.get("/hold-entries").json["items"]
    later = "2026-05-25"
    held.world.clock.move(minutes=20 * 60)
    gone = {"state": "released", "released_as": "elsewhere", "released_to": "the allotments"}
    held.patch(f"/hold-entries/{entry['id']}", gone)

    def kilograms(of, since=DAY, until=later):
        rows, _ = sums(held.client, held.ids, of, since=since, until=until, by="month")
        return {name: row["counted_kg"] for name, row in rows.items()}

    first, second = kilograms("outcome", until=DAY), kilograms("outcome", since=later)
    (kg,) = first.values()
    assert (first, second) == ({"hold_bay": kg}, {"elsewhere": kg})
    assert list(kilograms("carried_over", since=later).values()) == [kg]
    both = kilograms("outcome")
    assert both == {"hold_bay": 0.0, "elsewhere": kg}
    assert kilograms("carried_over") == {}
    depot = {"depot_id": held.ids["depots"]}
    closed = held.client.post(f"/days/{later}/closing", query_string=depot, json={}).json
    told = {one["kind"]: one["likely_kg"] for one in closed["content"]["sums"]}
    assert min(told.values()) >= 0.0


def test_what_is_aboard_over_the_turn_of_a_month_is_in_the_sums_of_both():
    crew = Crew(bay=True)
    crew.world.clock.move(days=7)
    job = crew.mow(crew.lawn("Last of May"), day="2026-05-31", at="11:00")
    crew.world.clock.move(days=1)
    at = crew.world.clock.now().isoformat()
    tip(crew, job, at=at)
    crew.mow(crew.lawn("First of June"), day="2026-06-01", at="12:30")

    def kilograms(by, since, until, span="month"):
        _, told = sums(crew.client, crew.ids, by, since=since, until=until, by=span)
        return sum(row["mass_kg"]["likely"] for row in told["sums"] if row["by"] == by)

    may, june = ("2026-05-01", "2026-05-31"), ("2026-06-01", "2026-06-30")
    whole = crew.client.get(f"/jobs/{job}").json["estimate"]["mass_kg"]["likely"]
    assert kilograms("aboard", *may) == pytest.approx(whole, abs=0.01)
    assert kilograms("aboard_before", *june) == pytest.approx(whole, abs=0.01)
    for days in (may, june):
        into = kilograms("aboard_before", *days) + kilograms("client_cut", *days)
        out = kilograms("outcome", *days) + kilograms("aboard", *days)
        assert into == pytest.approx(out, abs=0.01)
    # A year is one request.
    year = kilograms("client_cut", "2026-01-01", "2026-12-31")
    assert year == pytest.approx(2 * whole, abs=0.1)

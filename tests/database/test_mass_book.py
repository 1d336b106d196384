"""The mass book in a database: filled from what was kept before it, and only ever added to."""

from uuid import UUID

import pytest
from sqlalchemy import text

from service.storage.engine import make_engine
from service.storage.migrations import downgrade, upgrade
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.mass_book.checking import CheckMassBook
from tests.crews import Crew, drops
from tests.database.conftest import noted
from tests.worlds import make_world

BEFORE_THE_BOOK = "0007"
BEFORE_WEIGHTS_WENT_ALONG = "0043"
MASSES = ("share", "mass_low_kg", "mass_high_kg", "counted_kg")
SUMS = (*MASSES, "nitrogen_high_kg")


@pytest.fixture
def engine(database_url):
    engine = make_engine(database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def crew(engine):
    """Return a crew that mowed, tipped, weighed, was refused, held and released."""
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    crew = Crew(bay=True, world=world)
    crew.mow(crew.lawn("Clean"), at="09:00")
    crew.mow(crew.lawn("Weighed by the crew"), at="09:30", measured_mass={"value": 9, "unit": "kg"})
    (drop,) = drops(crew.read())
    world.clock.move(minutes=5)
    load = f"/loads/{drop['load_id']}"
    ticket = {"weighed_net": {"value": 30, "unit": "kg"}, "weigh_ticket": "W-1"}
    crew.patch(load, {"state": "partly_refused", "refused_share": 0.25, "refusal_reason": "Wet."})
    crew.patch(load, ticket)
    crew.mow_tainted("litter", at="10:00")
    for drop in drops(crew.read()):
        world.clock.move(minutes=5)
        crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    (entry, *_) = crew.client.get("/hold-entries?state=in_bay").json["items"]
    crew.patch(f"/hold-entries/{entry['id']}", {"state": "released", "released_to": "Hill Farm"})
    crew.mow(crew.lawn("Aboard"), at="11:00")
    return crew


def tipped_all_the_same(crew, tip):
    """Return a tip out of a body in which litter has lain."""
    answer = crew.client.post("/loads", json=tip, headers={"Change-Reason": "It lies there."})
    assert answer.status_code == 201, answer.text
    return answer.json


def firm_of(crew):
    with crew.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        return firm.id


def sums(crew, names=SUMS):
    """Return what is kept of every lot at every place."""
    with crew.world.open_unit_of_work() as unit:
        firm_id = firm_of(crew)
        jobs = sorted(job.id for job in unit.jobs.all(firm_id))
        return {
            (one.place_kind, one.place_id, one.lot_id): [
                round(getattr(one, name), 6) for name in names
            ]
            for one in unit.mass_balances.of_lots(firm_id, jobs)
        }


def test_what_was_kept_before_the_book_is_entered_as_the_service_would_have(crew, database_url):
    kept, masses = sums(crew), sums(crew, MASSES)
    assert {kind for kind, _, _ in kept} == {"lawn", "vehicle", "bed", "elsewhere"}
    weighed = next(
        UUID(job["id"]) for job in crew.client.get("/jobs").json["items"] if job["measured_mass"]
    )
    crew.world.open_unit_of_work()  # nothing is open: the migration must have the database alone
    downgrade(database_url, BEFORE_THE_BOOK)
    upgrade(database_url)
    assert sums(crew, MASSES) == masses
    # The nitrogen of a weighed lot was as unsure as its lawn then; its job's next word mends it.
    filled = sums(crew)
    different = {lot for (kind, place, lot), one in kept.items() if filled[kind, place, lot] != one}
    assert different == {weighed}
    for job in crew.client.get("/jobs").json["items"]:
        crew.patch(f"/jobs/{job['id']}", {"remarks": "Said after the book was filled."})
    assert sums(crew) == kept


def test_a_tip_without_a_plan_gets_one_where_the_database_goes_back(crew, database_url):
    (job, *_) = [
        one["id"] for one in crew.client.get("/jobs").json["items"] if one["remarks"] is None
    ][-1:]
    body = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": crew.ids["compost-sites"],
        "done_at": "2026-05-24T12:10:00Z",
        "parts": [{"job_id": job}],
    }
    load = tipped_all_the_same(crew, body)
    assert load["plan_id"] is None
    downgrade(database_url, BEFORE_THE_BOOK)
    upgrade(database_url)
    assert crew.client.get(f"/loads/{load['id']}").json["plan_id"] is not None


def test_an_entry_is_never_changed_or_removed(crew):
    firm_id = firm_of(crew)
    with crew.world.open_unit_of_work() as unit:
        (entry, *_) = unit.mass_movements.all(firm_id)
        with pytest.raises(ValueError, match="stays"):
            unit.mass_movements.replace(entry, expected_version=1)
        with pytest.raises(ValueError, match="stay"):
            unit.mass_movements.replace_many([entry])
        with pytest.raises(ValueError, match="stays"):
            unit.mass_movements.remove(firm_id, entry.id)


def test_what_is_aboard_is_found_in_as_many_statements_after_a_season(crew, engine):
    def told(count):
        """Mow and tip this many lots of days long past; return what reading today then asks."""
        for number in range(count):
            job = crew.mow(crew.lawn(f"Old {number}"), day=f"2026-02-{number + 1:02}", at="10:00")
            crew.post("/loads", {**body, "parts": [{"job_id": job}]})
        crew.mow(crew.lawn(f"After {count}"), at="11:30")
        before = len(sent)
        crew.read()
        return len(sent) - before

    sent = noted(engine)
    body = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": crew.ids["compost-sites"],
        "done_at": "2026-03-20T12:00:00Z",
    }
    told(1)
    few = told(1)
    assert told(12) == few


def counted(crew):
    """Return what counts at each place, by the sums of lots and by those that are kept."""
    kept = {}
    for (kind, place_id, _), amounts in sums(crew, ("counted_kg",)).items():
        kept[kind, place_id] = kept.get((kind, place_id), 0.0) + amounts[0]
    with crew.world.open_unit_of_work() as unit:
        totals = unit.mass_balances.totals(firm_of(crew))
    told = {(kind, place_id): amounts.counted_kg for kind, place_id, amounts in totals}
    assert told == pytest.approx(kept, abs=1e-4)
    return told


def test_what_was_weighed_before_its_weight_went_with_it_counts_as_if_it_were_today(
    crew, database_url
):
    cut = crew.mow(crew.lawn("Half of it weighed"), at="10:30")
    tip = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": crew.ids["beds"],
        "done_at": crew.world.clock.now().isoformat(),
        "parts": [{"job_id": cut, "share": 0.5}],
    }
    load = tipped_all_the_same(crew, tip)
    likely_kg = load["mass_kg"]["likely"]
    net = {"value": round(likely_kg * 1.5, 2), "unit": "kg"}
    ticket = {"weighed_net": net, "weigh_ticket": "W-2"}
    for said in (ticket, {"state": "planned"}, {"state": "delivered"}, ticket):
        crew.patch(f"/loads/{load['id']}", said, reason="It lies there.")
    today, body = counted(crew), ("vehicle", UUID(crew.ids["vehicles"]))
    downgrade(database_url, BEFORE_WEIGHTS_WENT_ALONG)
    engine = make_engine(database_url)
    with engine.connect() as connection:
        asked = "SELECT sum(counted_kg) FROM {} WHERE place_kind = 'vehicle'"
        lots_kg = connection.execute(text(asked.format("mass_balances"))).scalar_one()
        places_kg = connection.execute(text(asked.format("place_sums"))).scalar_one()
    engine.dispose()
    assert lots_kg == pytest.approx(today[body] - 0.5 * likely_kg, abs=0.01)
    assert float(places_kg) / 1e9 == pytest.approx(lots_kg, abs=0.01)
    upgrade(database_url)
    assert counted(crew) == pytest.approx(today, abs=1e-6)
    assert CheckMassBook(open_reading=crew.world.open_unit_of_work)(firm_of(crew)).differences == ()

"""What lay in which body, and what is mixed by that: in memory and in both databases alike."""

import random
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import JSON, bindparam, event, text

from service.core.mass_book import STILL, BodyStay
from service.storage.engine import make_engine
from service.storage.migrations import downgrade, upgrade
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.crews import Crew, another_crew
from tests.database.books import NOW
from tests.database.conftest import kept_books
from tests.effort import tried
from tests.worlds import make_world

BEFORE = "0039"
HOURS = 12


def at(minute):
    return NOW + timedelta(minutes=minute)


def some(store, unit, *, lots, vehicles=1):
    """Return so many lots and vehicles of a firm, kept."""
    books = store.books
    jobs = [books.another("jobs") for _ in range(lots)]
    bodies = [books.another("vehicles") for _ in range(vehicles)]
    unit.jobs.add_many(jobs)
    unit.vehicles.add_many(bodies)
    return [job.id for job in jobs], [body.id for body in bodies]


def spread(stays, wanted):
    """Return since when each lot has any of the wanted in it, moment by moment."""
    found = {}
    for minute in range(HOURS + 1):
        there = [stay for stay in stays if stay.since <= at(minute) <= stay.until]
        grew = True
        while grew:
            grew = False
            for one in there:
                for other in there:
                    begins = max(one.since, other.since)
                    came = found.get(one.job_id)
                    has_it = one.job_id in wanted or (
                        came is not None and (one.until > came or one.since == came)
                    )
                    is_apart = any(s.apart_until and s.apart_until >= begins for s in (one, other))
                    if (
                        one.vehicle_id == other.vehicle_id
                        and not is_apart
                        and has_it
                        and other.job_id not in wanted
                        and other.job_id not in found
                    ):
                        found[other.job_id], grew = at(minute), True
    return found


@pytest.mark.parametrize("seed", tried(range(40), 8))
def test_a_lot_is_mixed_since_it_lay_with_what_was_mixed_by_then(store, seed):
    chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
    with store.open_unit() as unit:
        lots, bodies = some(store, unit, lots=6, vehicles=3)
        stays = {}
        for _ in range(chance.randint(2, 12)):
            since = chance.randrange(HOURS)
            stay = BodyStay(
                firm_id=store.books.firm.id,
                vehicle_id=chance.choice(bodies),
                job_id=chance.choice(lots),
                since=at(since),
                until=chance.choice((at(chance.randint(since, HOURS)), STILL)),
            )
            stays[stay.vehicle_id, stay.job_id, stay.since] = stay
        for _ in "ab":  # in place of what was kept
            unit.body_stays.put(store.books.firm.id, lots, list(stays.values()))
        for lot in lots[:2] if chance.random() < 0.4 else ():
            unit.body_stays.keep_apart(store.books.firm.id, lot, at(chance.randrange(HOURS)))
        kept = unit.body_stays.of_lots(store.books.firm.id, lots)
        assert [replace(stay, apart_until=None) for stay in kept] == sorted(
            stays.values(), key=lambda stay: (stay.job_id, stay.since, stay.vehicle_id)
        )
        wanted = lots[: chance.randint(1, 2)]
        found = unit.body_stays.mixed_since(store.books.firm.id, wanted)
        assert found == spread(kept, set(wanted))
        assert unit.body_stays.mixed_since(store.others.firm.id, wanted) == {}
        unit.body_stays.put(store.books.firm.id, lots, [])
        assert unit.body_stays.of_lots(store.books.firm.id, lots) == []


def chain(books, unit, *, lots, length):
    """Keep lots that came into one body an hour apart and lay there so long; return their ids."""
    jobs = [books.another("jobs") for _ in range(lots)]
    ids = [job.id for job in jobs]
    unit.jobs.add_many(jobs)
    stays = [
        BodyStay(
            firm_id=books.firm.id,
            vehicle_id=books.vehicles.id,
            job_id=job_id,
            since=at(number),
            until=at(number + length),
        )
        for number, job_id in enumerate(ids)
    ]
    unit.body_stays.put(books.firm.id, ids, stays)
    return ids


@pytest.mark.parametrize("lots", [3, 60])
def test_a_chain_of_lots_in_one_body_costs_two_statements_however_long_it_is(
    open_unit, books, statements, lots
):
    with open_unit() as unit:
        ids = chain(books, unit, lots=lots, length=1)
        statements.clear()
        found = unit.body_stays.mixed_since(books.firm.id, ids[:1])
        assert len(statements) == 2
    assert found == {job_id: at(number) for number, job_id in enumerate(ids) if number}


@pytest.mark.parametrize("bodies", [1, 4])
def test_each_further_body_that_it_came_into_costs_one_statement_more(
    open_unit, books, statements, bodies
):
    with open_unit() as unit:
        vehicles = [books.another("vehicles") for _ in range(bodies)]
        unit.vehicles.add_many(vehicles)
        jobs = [books.another("jobs") for _ in range(3 * bodies + 1)]
        unit.jobs.add_many(jobs)
        stays = [
            BodyStay(
                firm_id=books.firm.id,
                vehicle_id=vehicle.id,
                job_id=jobs[3 * number + nth].id,
                since=at(number),
                until=at(number + 1),
            )
            for number, vehicle in enumerate(vehicles)
            for nth in range(4)  # the last of a body is the first of the next one
        ]
        unit.body_stays.put(books.firm.id, [job.id for job in jobs], stays)
        statements.clear()
        found = unit.body_stays.mixed_since(books.firm.id, [jobs[0].id])
        assert len(statements) == 1 + bodies
    assert found == {job.id: at((n - 1) // 3) for n, job in enumerate(jobs) if n}


def test_twice_as_much_that_lies_in_one_body_is_not_asked_of_four_times(sqlite_url):
    engine, steps = make_engine(sqlite_url), []
    count = event.listens_for(engine, "connect")
    count(lambda raw, _: raw.set_progress_handler(lambda: steps.append(1) or 0, 100))

    def asked_of(lots):
        """Return in how many hundred steps the database answers of what nobody took out."""
        books = kept_books(unit_of_work_opener(engine), name=f"A firm of {lots}")
        with unit_of_work_opener(engine)() as unit:
            ids = chain(books, unit, lots=lots, length=1_000)
            steps.clear()
            assert len(unit.body_stays.mixed_since(books.firm.id, ids[:1])) == lots - 1
            return len(steps)

    assert asked_of(100) < 3 * asked_of(50)
    engine.dispose()


def test_what_lay_together_stays_so_back_and_forth(database_url):
    engine = make_engine(database_url)
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    crew = Crew(bay=True, world=world)
    other = another_crew(crew)["vehicle_id"]
    names = ("Gone", "First", "Second", "Apart", "Given")
    gone, first, second, apart, given = (crew.mow(crew.lawn(n), at="12:10") for n in names)
    world.clock.move(minutes=30)
    tip(crew, gone, kind="bed")
    say(crew, "given", to_vehicle_id=other, parts=[{"job_id": given}])
    why = {"Change-Reason": "It was in bags."}
    decided = crew.client.post(
        f"/jobs/{apart}/decisions", json={"decision": "as_recorded"}, headers=why
    )
    assert decided.status_code == 200, decided.text
    late = crew.mow(crew.lawn("Late"), at="12:50")
    tip(crew, first, late, kind="bed")
    before = stays(crew)
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        ids = {job.id: str(job.id) for job in unit.jobs.all(firm.id)}
        mixed = unit.body_stays.mixed_since(firm.id, [i for i, own in ids.items() if own == gone])
    assert {ids[one] for one in mixed} == {first, second, given, late}
    codes = {job: code(crew, job) for job in (second, given, apart)}
    downgrade(database_url, BEFORE)
    asked = text("SELECT CAST(findings AS TEXT) FROM jobs WHERE lot_code = :code")
    with engine.begin() as connection:
        findings = connection.execute(asked, {"code": codes[second]}).scalar_one()
    assert codes[given] in findings
    assert codes[apart] not in findings
    upgrade(database_url)
    assert stays(crew) == before
    assert crew.client.get(f"/jobs/{second}").json["findings"] == []
    engine.dispose()


def test_what_lay_with_a_lot_that_was_given_on_twice_stays_so_back_and_forth(database_url):
    engine = make_engine(database_url)
    crew = Crew(bay=True, world=make_world(unit_of_work_opener(engine), reading_opener(engine)))
    first, second, third = (
        crew.ids["vehicles"],
        vehicle(crew, "AB12 CDE"),
        vehicle(crew, "AB12 FGH"),
    )
    on, back, undone, stayed = (
        crew.mow(crew.lawn(n), at="12:10") for n in ("On", "Back", "Undone", "Stayed")
    )
    crew.world.clock.move(minutes=30)
    for giver, taker, jobs in (
        (first, second, (on, back, undone)),
        (second, third, (on, undone)),
        (second, first, (back,)),
    ):
        give(crew, giver, taker, *jobs)
    never_aboard(crew, undone, second)
    assert together(crew, stayed) == {on, back, undone}
    before = stays(crew)
    names = {first: "first", second: "second", third: "third"}
    assert [names[str(one.vehicle_id)] for one in before if str(one.job_id) == on] == [
        *names.values()
    ]
    downgrade(database_url, BEFORE)
    upgrade(database_url)
    assert stays(crew) == before
    assert together(crew, stayed) == {on, back, undone}
    engine.dispose()


def test_what_came_and_went_while_a_lot_was_in_another_body_never_lay_with_it(database_url):
    engine = make_engine(database_url)
    crew = Crew(bay=True, world=make_world(unit_of_work_opener(engine), reading_opener(engine)))
    first, second = crew.ids["vehicles"], vehicle(crew, "AB12 CDE")
    lot = crew.mow(crew.lawn("Lot"), at="12:10")
    crew.world.clock.move(minutes=20)
    give(crew, first, second, lot)
    meanwhile = crew.mow(crew.lawn("Meanwhile"), at="13:25")
    tip(crew, meanwhile, kind="bed")
    beside = crew.mow(crew.lawn("Beside"), at="13:32", vehicle_id=second)
    give(crew, second, first, lot)
    assert together(crew, lot) == {beside}
    tip(crew, lot, kind="bed")
    assert together(crew, lot) == {beside}
    assert together(crew, meanwhile) == set()
    engine.dispose()


def test_a_lot_that_was_not_given_back_after_all_still_lay_where_it_was_cut(database_url):
    engine = make_engine(database_url)
    crew = Crew(bay=True, world=make_world(unit_of_work_opener(engine), reading_opener(engine)))
    first, second, third = (
        crew.ids["vehicles"],
        vehicle(crew, "AB12 CDE"),
        vehicle(crew, "AB12 FGH"),
    )
    lot, stayed = (crew.mow(crew.lawn(n), at="12:10") for n in ("Lot", "Stayed"))
    crew.world.clock.move(minutes=20)
    give(crew, first, second, lot)
    give(crew, second, first, lot)
    for now_in in (second, third, first):
        never_aboard(crew, lot, now_in)
        assert together(crew, lot) == {stayed}
    engine.dispose()


def test_what_its_findings_say_of_a_lot_that_was_moved_by_hand_is_kept(database_url):
    engine = make_engine(database_url)
    crew = Crew(bay=True, world=make_world(unit_of_work_opener(engine), reading_opener(engine)))
    other = vehicle(crew, "AB12 CDE")
    gone, moved, stayed = (crew.mow(crew.lawn(n), at="12:10") for n in ("Gone", "Moved", "Stayed"))
    elsewhere = crew.mow(crew.lawn("Elsewhere"), at="12:10", vehicle_id=other)
    crew.world.clock.move(minutes=30)
    codes = {job: code(crew, job) for job in (moved, stayed)}
    told_at = crew.world.clock.now().isoformat()
    never_aboard(crew, moved, other)
    tip(crew, gone, kind="bed")
    assert together(crew, gone) == {stayed}
    downgrade(database_url, BEFORE)
    # As it was kept then: with the ids of what lay there as some of it left.
    facts = {"lay_with": codes[moved], "at": told_at, "job_ids": [moved]}
    finding = {"status": "clean", "code": "lay_in_one_body", "facts": facts}
    kept = text("UPDATE jobs SET findings = :kept WHERE lot_code = :code").bindparams(
        bindparam("kept", [finding], JSON())
    )
    with engine.begin() as connection:
        connection.execute(kept, {"code": codes[stayed]})
    upgrade(database_url)
    assert together(crew, stayed) == {gone, moved, elsewhere}
    before = stays(crew)
    (mixed,) = (one for one in before if one.since == one.until)
    assert (str(mixed.job_id), str(mixed.vehicle_id)) == (moved, crew.ids["vehicles"])
    downgrade(database_url, BEFORE)
    upgrade(database_url)
    assert stays(crew) == before
    engine.dispose()


def vehicle(crew, registration):
    like = crew.client.get(f"/vehicles/{crew.ids['vehicles']}").json
    fields = {name: like[name] for name in ("depot_id", "payload_kg", "body_volume_m3")}
    return crew.post("/vehicles", {**fields, "registration": registration})["id"]


def together(crew, job):
    """Return what a lot is mixed with."""
    with crew.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        ids = {str(one.id): one.id for one in unit.jobs.all(firm.id)}
        return {str(one) for one in unit.body_stays.mixed_since(firm.id, [ids[job]])}


def test_a_word_that_a_lot_was_kept_apart_is_of_what_was_on_record_by_then(database_url):
    engine = make_engine(database_url)
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    crew = Crew(bay=True, world=world)
    gone, apart = (crew.mow(crew.lawn(name), at="12:10") for name in ("Gone", "Apart"))
    world.clock.move(minutes=30)
    tip(crew, gone, kind="bed")

    def keep_apart():
        why = {"Change-Reason": "It was in bags."}
        path, word = f"/jobs/{apart}/decisions", {"decision": "as_recorded"}
        decided = crew.client.post(path, json=word, headers=why)
        assert decided.status_code == 200, decided.text
        world.clock.move(minutes=5)
        assert together(crew, apart) == set()

    keep_apart()
    late = crew.mow(crew.lawn("Late"), at="12:12")
    assert together(crew, late) == {gone, apart}
    keep_apart()
    engine.dispose()


def tip(crew, *jobs, kind):
    where = crew.ids["beds" if kind == "bed" else "hold-bays"]
    parts = [{"job_id": job} for job in jobs]
    say(crew, "tipped", destination_kind=kind, destination_id=where, parts=parts)
    crew.world.clock.move(minutes=5)


def give(crew, giver, taker, *jobs):
    parts = [{"job_id": job} for job in jobs]
    say(crew, "given", vehicle_id=giver, to_vehicle_id=taker, parts=parts)
    crew.world.clock.move(minutes=10)


def say(crew, kind, **fields):
    now = crew.world.clock.now().isoformat()
    crew.count = getattr(crew, "count", 0) + 1
    report = {"id": f"01900000-0000-7000-9200-{crew.count:012}", "kind": kind, "at": now, **fields}
    mine = {"crew_id": crew.ids["crews"], "vehicle_id": crew.ids["vehicles"]}
    body = {"device": "tablet", "sent_at": now, **mine, "reports": [report]}
    (row,) = crew.client.post("/reports", json=body).json["reports"]
    assert row["status"] == 200, row


def never_aboard(crew, job, vehicle_id):
    """Say that a lot never was in the vehicle on record, but in another one."""
    said = {"decision": "never_aboard", "vehicle_id": vehicle_id}
    why = {"Change-Reason": "Typed into the wrong round."}
    answer = crew.client.post(f"/jobs/{job}/decisions", json=said, headers=why)
    assert answer.status_code == 200, answer.text


def code(crew, job):
    return crew.client.get(f"/jobs/{job}").json["lot_code"]


def stays(crew):
    with crew.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        jobs = sorted(job.id for job in unit.jobs.all(firm.id))
        return unit.body_stays.of_lots(firm.id, jobs)

"""What weigh tickets say is kept small, and is never anything else than what the records say."""

import random
from dataclasses import replace
from datetime import timedelta

import pytest

from service.core.loads import LoadPart, TicketReview
from service.core.measures.quantities import Measure
from service.storage.engine import make_engine
from service.storage.migrations import downgrade, upgrade
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.base.lots import weigh_tickets
from service.usecases.base.lots.weigh_tickets import Tickets, keep_tickets, read_tickets
from tests.database.books import NOW
from tests.database.conftest import kept_books

BEFORE_THE_ROWS = "0033"


class Season:
    """Jobs on a few lawns, and weighed loads of one or two of them each."""

    def __init__(self, open_unit, books, *, seed=1, loads=12):
        self.open_unit, self.books, self.draw = open_unit, books, random.Random(seed)  # noqa: S311 - a draw
        lawns = [books.another("lawns") for _ in range(4)]
        self.jobs = [self.job(lawns) for _ in range(8)]
        self.loads = [self.load(number) for number in range(loads)]
        with open_unit() as unit:
            unit.lawns.add_many(lawns)
            unit.jobs.add_many(self.jobs)
            unit.loads.add_many(self.loads)
            unit.commit()

    def job(self, lawns):
        # Of grass with leaves in it a weight teaches nothing.
        return self.books.another("jobs", lawn_id=self.draw.choice(lawns).id, leaves_mixed=False)

    def load(self, number):
        jobs = self.draw.sample(self.jobs, self.draw.choice((1, 1, 2)))
        return self.books.another(
            "loads",
            parts=tuple(LoadPart(job_id=job.id, lot_code=job.lot_code, share=0.5) for job in jobs),
            weighed_net=Measure(value=self.draw.uniform(50.0, 400.0), unit="kg"),
            weigh_ticket=f"T-{number}",
            ticket_review=TicketReview.ACCEPTED,
            arrive_at=NOW - timedelta(days=number),
        )

    def change(self):
        """Weigh a load anew, take its review back or give it again, or correct a job."""
        at = self.draw.randrange(len(self.loads))
        load = self.loads[at]
        changes = {
            "weigh": {"weighed_net": Measure(value=self.draw.uniform(50.0, 400.0), unit="kg")},
            "review": {"ticket_review": self.draw.choice(list(TicketReview))},
        }.get(self.draw.choice(("weigh", "review", "job")))
        with self.open_unit() as unit:
            if changes is None:
                self.correct(unit, self.draw.randrange(len(self.jobs)))
            else:
                self.loads[at] = replace(load, version=load.version + 1, **changes)
                unit.loads.replace(self.loads[at], expected_version=load.version)
            unit.commit()

    def correct(self, unit, at):
        job = self.jobs[at]
        share = self.draw.uniform(0.1, 2.0)
        mass_kg = job.estimate.mass_kg.scaled(share, unit="kg")
        self.jobs[at] = replace(
            job,
            version=job.version + 1,
            estimate=replace(job.estimate, mass_kg=mass_kg, mass_before_tickets_kg=None),
        )
        unit.jobs.replace(self.jobs[at], expected_version=job.version)

    def said(self, *, keep=True):
        """Return, by job, what the tickets say, in an order of its own."""
        with self.open_unit() as unit:
            tickets = read_tickets(unit, self.books.firm.id, self.jobs)
        if keep:
            keep_tickets(self.open_unit, self.books.firm.id, tickets)
        return [sorted(tickets.of(job), key=repr) for job in self.jobs]

    def worked_out_anew(self):
        with self.open_unit() as unit:
            accepted = unit.loads.all(self.books.firm.id, ticket_review=TicketReview.ACCEPTED)
            in_turn = sorted(accepted, key=lambda x: (x.arrive_at, x.id), reverse=True)
            anew = weigh_tickets.weighed_loads(unit, self.books.firm.id, [x.id for x in accepted])
        tickets = Tickets([anew[load.id] for load in in_turn])
        return [sorted(tickets.of(job), key=repr) for job in self.jobs]


@pytest.mark.parametrize("seed", range(3))
def test_what_is_kept_is_what_the_records_say_whatever_was_changed(open_unit, books, seed):
    season = Season(open_unit, books, seed=seed)
    for _ in range(25):
        season.change()
        assert season.said() == season.worked_out_anew()


def test_a_second_reading_asks_once_and_only_what_was_changed_is_worked_out(
    open_unit, books, statements
):
    season = Season(open_unit, books)
    first = season.said()
    statements.clear()
    assert season.said() == first
    assert len(statements) == 1
    with open_unit() as unit:
        season.correct(unit, 0)
        unit.commit()
        found = unit.weighed_loads.newest(books.firm.id, of_firm=50, lawns=[], of_lawn=0)
    concerned = [x.id for x in season.loads if season.jobs[0].id in {p.job_id for p in x.parts}]
    assert sorted(load.load_id for load in found if not load.is_as_recorded) == sorted(concerned)


def test_what_is_kept_is_read_without_a_look_at_loads_or_jobs(open_unit, books, statements):
    season = Season(open_unit, books)
    season.said()
    statements.clear()
    season.said()
    (asked,) = statements
    words = asked.replace(".", " ").replace("(", " ").split()
    assert "weighed_loads" in words
    assert not {"loads", "jobs", "load_lots"}.intersection(words)


def test_who_reads_what_was_overtaken_holds_nothing_and_writes_nothing(
    open_unit, books, statements
):
    # Who posts a job has its day to wait for: what it held till then would lock others out.
    season = Season(open_unit, books)
    statements.clear()
    assert season.said(keep=False)
    assert len(statements) > 1
    for statement in statements:
        assert statement.lstrip().upper().startswith("SELECT"), statement
        assert "FOR SHARE" not in statement.upper()


def test_what_somebody_writes_meanwhile_is_not_kept_as_it_was(postgresql_url):
    # Of PostgreSQL alone: SQLite has one writer at a time.
    engine = make_engine(postgresql_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    season = Season(open_unit, books)
    concerned = {x.id for x in season.loads if season.jobs[0].id in {p.job_id for p in x.parts}}
    with open_unit() as reads, open_unit() as writes:
        season.correct(writes, 0)
        tickets = read_tickets(reads, books.firm.id, season.jobs)
        keep_tickets(open_unit, books.firm.id, tickets)
        writes.commit()
    with open_unit() as unit:
        found = unit.weighed_loads.newest(books.firm.id, of_firm=50, lawns=[], of_lawn=0)
    assert {load.load_id for load in found if not load.is_as_recorded} == concerned
    assert season.said() == season.worked_out_anew()
    engine.dispose()


def test_a_load_of_many_lots_is_read_as_one_row(open_unit, books):
    season = Season(open_unit, books)
    season.said()
    with open_unit() as unit:
        loads = unit.weighed_loads.newest(books.firm.id, of_firm=50, lawns=[], of_lawn=0)
    assert all(load.is_as_recorded for load in loads)
    assert sorted(load.load_id for load in loads) == sorted(load.id for load in season.loads)
    assert sum(len(load.parts) for load in season.loads) > len(loads)


def test_a_unit_that_only_reads_keeps_nothing_and_says_the_same(open_unit, books):
    season = Season(open_unit, books)
    assert season.said(keep=False) == season.said(keep=False) == season.said()


def test_no_more_than_the_newest_count_besides_a_lawns_own(open_unit, books, monkeypatch):
    monkeypatch.setattr(weigh_tickets, "NEWEST_OF_FIRM", 5)
    monkeypatch.setattr(weigh_tickets, "NEWEST_OF_LAWN", 2)
    season = Season(open_unit, books, loads=60)
    season.said()
    with open_unit() as unit:
        unit.loads.all(books.firm.id)
        read_tickets(unit, books.firm.id, [season.jobs[0]])
        loads = unit.weighed_loads.newest(
            books.firm.id, of_firm=5, lawns=[str(season.jobs[0].lawn_id)], of_lawn=2
        )
    newest = {load.id for load in season.loads[:5]}
    found = {load.load_id for load in loads}
    assert newest <= found
    assert len(found - newest) <= 2


def test_what_tickets_say_outlives_a_way_back_and_forth(
    engine, open_unit, books, database_url, monkeypatch
):
    season = Season(open_unit, books, loads=30)
    season.said()
    monkeypatch.setattr(weigh_tickets, "NEWEST_OF_FIRM", 5)
    kept = season.said()
    assert max(len(said) for said in kept) > 5  # of those before, only the lawn is known
    engine.dispose()  # the migration must have the database alone
    downgrade(database_url, BEFORE_THE_ROWS)
    upgrade(database_url)
    assert season.said() == kept

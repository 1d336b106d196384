"""What was known of a load as its recall was ended: in memory and in both databases alike."""

from dataclasses import replace
from uuid import uuid4

from service.core.jobs import LotFinding
from service.core.materials import LotStatus
from service.storage.engine import make_engine
from service.storage.migrations import downgrade, upgrade
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.mass_book.settled import settled_loads
from tests.database.conftest import kept_books

BEFORE = "0040"
LITTER = LotFinding(status=LotStatus.LITTERED, code="litter_seen")
WEEDS = LotFinding(status=LotStatus.WEEDY, code="weeds_in_seed")


def test_what_is_kept_of_a_load_last_is_what_was_known_of_it_and_of_no_other(store):
    books, words = store.books, [{"code": "litter_seen", "facts": {"at": 1.0}}]
    with store.open_unit() as unit:
        unit.settled_loads.keep(books.firm.id, {books.loads.id: []})
        unit.settled_loads.keep(books.firm.id, {books.loads.id: words})
        asked = [books.loads.id, uuid4()]
        assert unit.settled_loads.of(books.firm.id, asked) == {books.loads.id: words}
        assert unit.settled_loads.of(store.others.firm.id, asked) == {}


def test_loads_of_recalls_that_were_ended_before_stay_settled_until_more_is_learned(database_url):
    engine = make_engine(database_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    with open_unit() as unit:
        job = unit.jobs.get(books.firm.id, books.jobs.id)
        unit.jobs.replace(
            replace(job, findings=(LITTER,), version=job.version + 1), expected_version=job.version
        )
        unit.recalls.add(books.another("recalls", is_open=False, load_ids=(books.loads.id,)))
        unit.commit()
    downgrade(database_url, BEFORE)
    upgrade(database_url)
    with open_unit() as unit:
        loads = [books.loads]
        assert settled_loads(unit, books.firm.id, loads) == {books.loads.id}
        job = unit.jobs.get(books.firm.id, books.jobs.id)
        unit.jobs.replace(
            replace(job, findings=(LITTER, WEEDS), version=job.version + 1),
            expected_version=job.version,
        )
        assert settled_loads(unit, books.firm.id, loads) == frozenset()
    engine.dispose()

"""A whole book is read page by page, and told as it was at one moment."""

from service.core.callers.access import Caller, Role
from service.usecases.records.record_kinds import keep_library
from service.usecases.telling import whole_books
from service.usecases.telling.whole_books import ReadWholeBooks
from tests.fakes import CountingIdentifiers, SetClock


def test_what_is_kept_while_a_book_is_read_is_in_none_of_its_pages(
    open_unit, open_reading, books, monkeypatch
):
    monkeypatch.setattr(whole_books, "A_PAGE", 1)
    firm_id = books.firm.id
    caller = Caller(firm_id=firm_id, key_id=books.key.id, role=Role.OWNER)
    library = keep_library(
        open_unit_of_work=open_unit,
        open_reading=open_reading,
        clock=SetClock(books.clients.created_at),
        identifiers=CountingIdentifiers(),
    )
    library.clients.create(caller, {"name": "Before"})
    with ReadWholeBooks(open_reading=open_reading)(caller) as at_once:
        reading = at_once.every(library.clients)
        told = [next(reading).name]
        library.clients.create(caller, {"name": "Meanwhile"})
        told += [one.name for one in reading]
        assert sorted(told) == sorted([books.clients.name, "Before"])
        assert [one.name for one in at_once.every(library.clients)] == told
    assert "Meanwhile" in [one.name for one in library.clients.page(caller, filters={}).records]

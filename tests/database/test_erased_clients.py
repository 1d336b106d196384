"""Of an erased client nothing is left in any table, in any form, and every sum stays."""

import json
import zlib

import pytest
from sqlalchemy import select

from service.storage.tables import METADATA
from service.usecases.base.whose import working_for
from service.usecases.mass_book.checking import CheckMassBook
from tests.marked import MARK, POINT, Marked
from tests.worlds import make_world

WORD = {"asked_by": "client", "reason": "Moved away."}


@pytest.fixture
def marked(open_unit, open_reading):
    return Marked(make_world(open_unit, open_reading)).lives()


def texts_in(engine):
    """Yield all that is kept, by table and column, as text: JSON, bytes and numbers, too."""
    with engine.connect() as connection:
        for table in METADATA.sorted_tables:
            for row in connection.execute(select(table)):
                for column, value in row._mapping.items():  # noqa: SLF001 - its public name
                    if isinstance(value, bytes):
                        yield table.name, column, unpacked(value)
                    elif value is not None:
                        told = json.dumps(value, default=str, ensure_ascii=False)
                        yield table.name, column, told


def unpacked(value):
    """Return what bytes say; what is kept beside another plan is packed with its words left out."""
    try:
        return zlib.decompressobj().decompress(value).decode(errors="replace")
    except zlib.error:
        return value.decode(errors="replace")


def left_of(engine, word):
    return sorted({(table, column) for table, column, text in texts_in(engine) if word in text})


def erased(marked):
    answer = marked.client.post(f"/clients/{marked.id}/erasure", json=WORD)
    assert answer.status_code == 200, answer.text
    return answer.json


def test_an_erased_client_is_in_no_table(engine, marked):
    assert len(left_of(engine, MARK)) > 20
    erased(marked)
    assert left_of(engine, MARK) == []
    for degrees in POINT:
        assert left_of(engine, str(degrees)[:8]) == []


def test_the_mass_book_and_every_digest_stay_right_when_a_client_is_erased(marked, open_reading):
    firm_id = marked.firm_id
    check = CheckMassBook(open_reading=open_reading)
    sums = marked.sums()
    with working_for(firm_id):
        assert check(firm_id).differences == ()
        erased(marked)
        assert check(firm_id).differences == ()
    assert marked.sums() == sums


def test_a_firms_other_clients_are_as_they_were(marked):
    other = f"/clients/{marked.ids['clients']}"
    before = marked.client.get(other).json, marked.client.get(marked.bed_of_another).json
    erased(marked)
    assert (marked.client.get(other).json, marked.client.get(marked.bed_of_another).json) == before

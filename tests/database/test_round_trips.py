import pytest

from tests.database.books import ORDER


@pytest.mark.parametrize("name", ORDER)
def test_a_record_comes_back_as_it_went_in(open_unit, books, name):
    record = getattr(books, name)
    with open_unit() as unit:
        assert unit.repository(name).get(books.firm.id, record.id) == record

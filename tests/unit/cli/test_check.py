"""The command that checks the mass book of a database."""

import pytest
from sqlalchemy import text

from service.cli import main
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.crews import Crew
from tests.worlds import make_world


@pytest.fixture
def crew(sqlite_url):
    engine = make_engine(sqlite_url)
    crew = Crew(bay=True, world=make_world(unit_of_work_opener(engine), reading_opener(engine)))
    crew.mow(crew.lawn("Clean"), at="10:00")
    yield crew
    engine.dispose()


def change(url, statement):
    engine = make_engine(url)
    with engine.begin() as connection:
        connection.execute(text(statement))
    engine.dispose()


@pytest.mark.usefixtures("crew")
def test_a_book_that_adds_up_is_said_to(sqlite_url, capsys):
    assert main(["check", "--database-url", sqlite_url]) == 0
    assert "1 lots, 1 entries: nothing differs." in capsys.readouterr().out


@pytest.mark.usefixtures("crew")
@pytest.mark.parametrize(
    ("statement", "said"),
    [
        (
            "UPDATE mass_balances SET mass_high_kg = mass_high_kg + 5 WHERE place_kind = 'vehicle'",
            "is 5.000 off its entries",
        ),
        ("DELETE FROM mass_balances WHERE place_kind = 'lawn'", "off its entries"),
        ("DELETE FROM mass_movements", "is on record and not in the book"),
        ("UPDATE jobs SET state = 'cancelled'", "is in the book and not on record"),
        ("UPDATE mass_movements SET mass_likely_kg = 1", "is 1.000 kg in the book"),
        (
            "UPDATE place_sums SET mass_high_kg = mass_high_kg + 5000000000",
            "the sum of all lots there is 5.000 off the lots",
        ),
        ("DELETE FROM place_sums", "the sum of all lots there is"),
    ],
)
def test_what_differs_is_said(sqlite_url, capsys, statement, said):
    change(sqlite_url, statement)
    assert main(["check", "--database-url", sqlite_url]) == 1
    assert said in capsys.readouterr().out


@pytest.mark.usefixtures("crew")
@pytest.mark.parametrize("broken", ["DELETE FROM place_sums", "UPDATE place_sums SET lots = 7"])
def test_sums_of_places_are_written_anew_where_that_is_asked(sqlite_url, capsys, broken):
    change(sqlite_url, broken)
    assert main(["check", "--database-url", sqlite_url, "--repair"]) == 0
    assert "nothing differs." in capsys.readouterr().out
    assert main(["check", "--database-url", sqlite_url]) == 0

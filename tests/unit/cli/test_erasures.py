"""The command that lists who was erased."""

import pytest

from service.cli import main
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.marked import MARK, Marked
from tests.worlds import make_world


@pytest.fixture
def erased(sqlite_url):
    """Return the id of a client who was erased, and another who was a day later."""
    engine = make_engine(sqlite_url)
    firm = Marked(make_world(unit_of_work_opener(engine), reading_opener(engine)))
    word = {"asked_by": "client", "reason": f"{MARK} name moved away."}
    assert firm.client.post(f"/clients/{firm.id}/erasure", json=word).status_code == 200
    firm.world.clock.move(hours=24)
    later = firm.post("/clients", {"name": "L. Ater"})["id"]
    assert firm.client.post(f"/clients/{later}/erasure", json=word).status_code == 200
    yield firm.id, later
    engine.dispose()


def test_whoever_puts_an_old_copy_back_reads_whom_to_erase_again(sqlite_url, erased, capsys):
    first, later = erased
    assert main(["erasures", "--database-url", sqlite_url]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [first in lines[0], later in lines[1]] == [True, True]
    assert "  client  erased moved away." in lines[0]
    assert MARK not in lines[0]
    assert main(["erasures", "--database-url", sqlite_url, "--since", "2026-05-25"]) == 0
    assert [later in line for line in capsys.readouterr().out.splitlines()] == [True]


@pytest.mark.usefixtures("erased")
def test_of_another_firm_nobody_is_listed(sqlite_url, capsys):
    nobody = "00000000-0000-7000-8000-000000000000"
    assert main(["erasures", "--database-url", sqlite_url, "--firm", nobody]) == 0
    assert capsys.readouterr().out == ""

"""A copy made while others write holds all that was acknowledged before, and can be put back."""

import threading

import pytest
from sqlalchemy import inspect, text

from service.api.books import clients
from service.cli import main
from service.storage import backups
from service.storage.engine import make_engine
from service.storage.migrations import check, downgrade, upgrade
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.worlds import furnish, make_world


@pytest.fixture
def served(database_url):
    """Return a firm that is served, the way to post to it, and where it is kept."""
    engine = make_engine(database_url)
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    yield furnish(world), database_url
    engine.dispose()


def kept(url):
    engine = make_engine(url)
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    with reading_opener(engine)() as unit:
        (firm,) = unit.firms.all()
    found = {one["id"] for one in world.client(firm.id).get("/clients?limit=200").json["items"]}
    engine.dispose()
    return found


@pytest.fixture
def other_url(request, database_url):
    name = "empty_sqlite_url" if database_url.startswith("sqlite") else "empty_postgresql_url"
    return request.getfixturevalue(name)


def test_what_was_acknowledged_before_a_copy_is_in_it_though_others_write_on(
    served, other_url, tmp_path, capsys
):
    yard, url = served
    job = yard.client.post("/jobs", json=yard.job())
    assert job.status_code == 201
    before = {one["id"] for one in yard.client.get("/clients?limit=200").json["items"]}
    enough, answers = threading.Event(), []

    def write_on():
        while not enough.is_set():
            answers.append(yard.client.post("/clients", json=clients.CLIENTS.example).status_code)

    writer = threading.Thread(target=write_on)
    writer.start()
    copy = tmp_path / "copy"
    assert main(["backup", "--database-url", url, "--to", str(copy)]) == 0
    enough.set()
    writer.join()
    assert set(answers) <= {201}
    assert copy.stat().st_mode & 0o077 == 0
    assert main(["backup", "--database-url", url, "--to", str(copy)]) == 1
    assert main(["restore", "--database-url", other_url, "--from", str(copy)]) == 0
    assert "nothing differs" in capsys.readouterr().out
    assert main(["migrate", "--check", "--database-url", other_url]) == 0
    assert before <= kept(other_url)


def test_a_copy_is_whole_where_the_address_has_options_of_its_own(
    empty_postgresql_url, tmp_path, monkeypatch
):
    engine = make_engine(empty_postgresql_url)
    upgrade(empty_postgresql_url)
    yard = furnish(make_world(unit_of_work_opener(engine), reading_opener(engine)))
    copy = tmp_path / "copy"
    mark = "&" if "?" in empty_postgresql_url else "?"
    own = f"{empty_postgresql_url}{mark}options=-csearch_path%3Dpublic%20-cwork_mem%3D8MB"
    monkeypatch.setenv("PGOPTIONS", "-c work_mem=9MB")
    assert main(["backup", "--database-url", own, "--to", str(copy)]) == 0
    assert main(["restore", "--replace", "--database-url", own, "--from", str(copy)]) == 0
    engine.dispose()
    assert kept(empty_postgresql_url) == {yard.ids["clients"]}


def test_a_copy_that_saw_less_than_there_is_is_refused(
    empty_postgresql_url, tmp_path, capsys, monkeypatch
):
    # What a pooler that drops the options of an address does: who copies says no firm it sees.
    engine = make_engine(empty_postgresql_url)
    upgrade(empty_postgresql_url)
    furnish(make_world(unit_of_work_opener(engine), reading_opener(engine)))
    engine.dispose()
    monkeypatch.setattr(backups, "setting_of", lambda _said: "nobody")
    copy = tmp_path / "copy"
    assert main(["backup", "--database-url", empty_postgresql_url, "--to", str(copy)]) == 1
    told = capsys.readouterr().err
    assert "1 of clients" in told
    assert "firms" not in told.split(".")[0]
    assert list(tmp_path.iterdir()) == []


def test_a_copy_is_put_back_under_who_is_served_and_only_over_firms_if_that_is_said(
    served, tmp_path, capsys
):
    yard, url = served
    copy = tmp_path / "copy"
    assert main(["backup", "--database-url", url, "--to", str(copy)]) == 0
    late = yard.client.post("/clients", json=clients.CLIENTS.example).json["id"]
    assert main(["restore", "--database-url", url, "--from", str(copy)]) == 1
    assert "--replace" in capsys.readouterr().err
    assert yard.client.get(f"/clients/{late}").status_code == 200
    assert main(["restore", "--replace", "--database-url", url, "--from", str(copy)]) == 0
    assert yard.client.get(f"/clients/{late}").status_code == 404
    assert yard.client.post("/clients", json=clients.CLIENTS.example).status_code == 201


def test_a_copy_of_an_older_version_is_put_back_over_a_newer_one(served, tmp_path, capsys):
    # Two revisions later tables have come whose keys name what the copy holds.
    yard, url = served
    before = {one["id"] for one in yard.client.get("/clients?limit=200").json["items"]}
    copy, old = tmp_path / "copy", "0023"
    downgrade(url, old)
    assert main(["backup", "--database-url", url, "--to", str(copy)]) == 0
    upgrade(url)
    late = yard.client.post("/clients", json=clients.CLIENTS.example).json["id"]
    assert main(["restore", "--replace", "--database-url", url, "--from", str(copy)]) == 0
    assert "run `clipping-dispatch migrate`" in capsys.readouterr().out
    engine = make_engine(url)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == old
        assert not {"recalls", "place_choices"} & {*inspect(connection).get_table_names()}
    engine.dispose()
    upgrade(url)
    check(url)
    assert late not in kept(url) == before


def test_a_copy_that_ends_too_early_changes_nothing(served, tmp_path):
    yard, url = served
    copy, torn = tmp_path / "copy", tmp_path / "torn"
    backups.back_up(url, copy)
    torn.write_bytes(copy.read_bytes()[: copy.stat().st_size * 9 // 10])
    with pytest.raises(backups.BackupRefused):
        backups.restore(url, torn, replace=True)
    assert yard.client.post("/clients", json=clients.CLIENTS.example).status_code == 201


def test_what_is_no_copy_is_not_put_back(served, tmp_path, capsys):
    yard, url = served
    wrong = tmp_path / "copy"
    wrong.write_bytes(b"not a database" * 1000)
    assert main(["restore", "--replace", "--database-url", url, "--from", str(wrong)]) == 1
    assert capsys.readouterr().err
    assert yard.client.get("/clients").status_code == 200

"""What every test may ask for: a fresh migrated database, and a world without outside addresses."""

import gc
import os
import shutil
import sys
import tempfile
from dataclasses import asdict
from ipaddress import ip_address
from pathlib import Path
from uuid import uuid4

import hypothesis
import pytest

from service.planning.arrays import compiled
from tests import effort, everybody, layout  # noqa: F401 - `everybody` for its effect
from tests.servers import postgresql
from tests.servers.sharing import made_once

TEMPLATE = "clipping_template"

gc.disable()  # what is made while libraries and tests are read stays
hypothesis.settings.load_profile(effort.PROFILE)
COMPILING = pytest.StashKey()
PLAINLY = "NUMBA_DISABLE_JIT" in os.environ


def pytest_configure(config):
    """Compile the planner once, beside the workers that would each do it."""
    begins_workers = config.getoption("numprocesses", None) and not hasattr(config, "workerinput")
    if begins_workers and not config.option.collectonly and not PLAINLY:
        config.stash[COMPILING] = layout.compile_apart()


def pytest_xdist_auto_num_workers():
    """Return one worker more than there are processors: some always wait for what they started."""
    return len(os.sched_getaffinity(0)) + 1


def pytest_unconfigure(config):
    """End what is still compiled for a run that has ended: the next one goes on from there."""
    if COMPILING in config.stash:
        config.stash[COMPILING].terminate()
        config.stash[COMPILING].wait()


@pytest.fixture(autouse=True)
def as_this_process_began():
    """Forget that a test called a command that begins as plain Python, or waits for code."""
    began = compiled.STATE.plain, compiled.STATE.awaited
    yield
    compiled.STATE.plain, compiled.STATE.awaited = began


def pytest_xdist_make_scheduler(config, log):
    """Return what hands out the tests, unless somebody asked for another way."""
    return layout.Scheduler(config, log) if config.option.dist == "loadfile" else None


def pytest_collection_finish():
    """Look for garbage from now on, but not among what was read."""
    gc.freeze()
    gc.enable()


def pytest_collection_modifyitems(items):
    """Put first what needs no planner, then what takes longest."""
    items.sort(key=lambda item: layout.place_of(item.path))


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item):
    """Let a worker's tests of the planner wait until it is compiled."""
    is_worker = hasattr(item.config, "workerinput")
    if is_worker and not PLAINLY and layout.needs_the_planner(item.path):
        layout.wait_for_the_planner()


def stay_at_home(event, arguments):
    """Fail the test that looks up or calls an address beyond this machine."""
    if event == "socket.getaddrinfo":
        host = arguments[0]
    elif event == "socket.connect" and isinstance(arguments[1], tuple):
        host = arguments[1][0]
    else:
        return
    host = host.decode() if isinstance(host, bytes) else host
    if host in (None, "", "localhost"):
        return
    try:
        at_home = ip_address(host).is_loopback
    except ValueError:
        at_home = False
    if not at_home:
        pytest.fail(f"A test called {host}; tests stay on this machine.")


sys.addaudithook(stay_at_home)


@pytest.fixture(scope="session")
def fluids():
    """Return CoolProp's equations of state, which take seconds to load."""
    from CoolProp import CoolProp  # noqa: PLC0415 # three tests need it

    return CoolProp


def migrate(url):
    """Bring an empty database to the newest shape."""
    from service.storage.migrations import upgrade  # noqa: PLC0415 # most tests need no database

    upgrade(url)


@pytest.fixture(scope="session")
def shared_path(tmp_path_factory, worker_id):
    """Return a directory that all workers of this run share."""
    own = tmp_path_factory.getbasetemp()
    return own if worker_id == "master" else own.parent


@pytest.fixture(scope="session")
def postgresql_server(shared_path, worker_id):
    """Return the one PostgreSQL server of this run; it ends with the run."""
    run_pid = os.getpid() if worker_id == "master" else os.getppid()
    told = made_once(
        shared_path / "postgresql.json",
        lambda: asdict(postgresql.start(owner_pid=run_pid)),
    )
    return postgresql.Server(**told)


@pytest.fixture(scope="session")
def postgresql_template(postgresql_server, shared_path):
    """Return the name of a migrated database to copy."""

    def make():
        postgresql_server.create_database(TEMPLATE)
        migrate(postgresql_server.url(TEMPLATE))
        return {"name": TEMPLATE}

    return made_once(shared_path / "postgresql-template.json", make)["name"]


@pytest.fixture(scope="session")
def sqlite_template(shared_path):
    """Return the path of a migrated database to copy."""

    def make():
        path = shared_path / "template.sqlite"
        migrate(f"sqlite:///{path}")
        return {"path": str(path)}

    return made_once(shared_path / "sqlite-template.json", make)["path"]


@pytest.fixture(scope="session")
def swift_path():
    """Return this worker's directory for files that nobody waits for a disk to keep."""
    with tempfile.TemporaryDirectory(prefix="clipping-", dir=postgresql.in_memory()) as folder:
        yield Path(folder)


# Of each worker always at the same address: an engine that was made for it knows its statements.
@pytest.fixture
def postgresql_url(postgresql_server, postgresql_template, worker_id):
    """Yield the address of a fresh, migrated PostgreSQL database."""
    name = f"test_{worker_id}"
    postgresql_server.create_database(name, template=postgresql_template)
    yield postgresql_server.url(name)
    postgresql_server.drop_database(name)


@pytest.fixture
def sqlite_url(sqlite_template, swift_path):
    """Return the address of a fresh, migrated SQLite database."""
    path = swift_path / "records.sqlite"
    for before in swift_path.glob(f"{path.name}*"):
        before.unlink()
    shutil.copyfile(sqlite_template, path)
    return f"sqlite:///{path}"


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request):
    """Return the address of a fresh, migrated database, once of each kind."""
    return request.getfixturevalue(f"{request.param}_url")


@pytest.fixture
def empty_postgresql_url(postgresql_server):
    """Yield the address of a PostgreSQL database that no migration has touched."""
    name = f"empty_{uuid4().hex}"
    postgresql_server.create_database(name)
    yield postgresql_server.url(name)
    postgresql_server.drop_database(name)


@pytest.fixture
def empty_sqlite_url(tmp_path):
    """Return the address of a SQLite database that no migration has touched."""
    return f"sqlite:///{tmp_path / 'empty.sqlite'}"


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_database_url(request):
    """Return the address of a database that no migration has touched, once of each kind."""
    return request.getfixturevalue(f"empty_{request.param}_url")

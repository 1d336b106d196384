import os
import pwd
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import psycopg
import pytest

from tests.effort import LOST_AFTER_S
from tests.servers import postgresql
from tests.servers.sharing import made_once

# Root can be anybody; anybody else can only be themselves.
ACCOUNTS = ["root", "nobody"] if os.geteuid() == 0 else [pwd.getpwuid(os.geteuid()).pw_name]

# Everything is imported before the account changes: the new one may not be let into the checkout.
OWNER = """
import encodings.idna, os, pwd, signal, sys
import psycopg
from tests.effort import LOST_AFTER_S
from tests.servers import postgresql
account = pwd.getpwnam(sys.argv[1])
if os.geteuid() != account.pw_uid:
    os.setgroups([]); os.setgid(account.pw_gid); os.setuid(account.pw_uid)
server = postgresql.start(owner_pid=os.getpid())
server.create_database("crew")
print(server.port, server.directory, server.password, flush=True)
signal.pause()
"""


def start_owner(account):
    """Start a process of an account's own that owns a server; return it and what it told."""
    owner = subprocess.Popen(
        [sys.executable, "-c", OWNER, account],
        stdout=subprocess.PIPE,
        text=True,
    )
    return owner, owner.stdout.readline().split()


def wait_until(true, *, seconds=LOST_AFTER_S):
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.05)


def answers(port):
    with socket.socket() as knock:
        return knock.connect_ex(("127.0.0.1", port)) == 0


@pytest.mark.parametrize("account", ACCOUNTS)
@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGKILL])
def test_a_server_runs_for_any_account_and_goes_with_its_owner(account, end):
    owner, (port, directory, password) = start_owner(account)
    with owner:
        database = psycopg.connect(
            f"host=127.0.0.1 port={port} user=tests password={password} dbname=crew"
        )
        with database:
            assert database.execute("SELECT current_database()").fetchone() == ("crew",)
        assert Path(directory).owner() != "root"
        owner.send_signal(end)
    wait_until(lambda: not answers(int(port)) and not Path(directory).exists())


def test_the_server_asks_for_its_password(postgresql_server):
    with pytest.raises(psycopg.OperationalError, match="password authentication failed"):
        psycopg.connect(
            host="127.0.0.1",
            port=postgresql_server.port,
            user=postgresql.SUPERUSER,
            password="a guess",
            dbname="postgres",
        )


def test_the_socket_leads_to_the_same_server(postgresql_server):
    url = postgresql_server.socket_url("postgres").replace("+psycopg", "")
    with psycopg.connect(url) as database:
        assert database.execute("SHOW port").fetchone() == (str(postgresql_server.port),)


def test_a_copied_database_holds_what_its_template_held(postgresql_server):
    postgresql_server.create_database("one")
    plain = postgresql_server.url("one").replace("+psycopg", "")
    with psycopg.connect(plain) as database:
        database.execute("CREATE TABLE beds AS SELECT 7 AS bed")
    postgresql_server.create_database("two", template="one")
    with psycopg.connect(plain.replace("/one", "/two")) as database:
        assert database.execute("SELECT bed FROM beds").fetchone() == (7,)
    postgresql_server.drop_database("two")
    postgresql_server.drop_database("one")


def test_only_the_first_comer_makes_what_is_shared(tmp_path):
    made = []

    def make():
        made.append(True)
        return {"port": 5432}

    first = made_once(tmp_path / "server.json", make)
    assert made_once(tmp_path / "server.json", make) == first == {"port": 5432}
    assert len(made) == 1

"""The demo's day, served, and Chromium: on a telephone and on a desk."""

import re
import secrets
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
import requests
from playwright.sync_api import expect, sync_playwright

from service.core.callers.access import Role
from service.gateways.time_and_ids import FreshIdentifiers
from service.storage.engine import make_engine
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.records.callers.api_keys import KeepKeys, KeyOf
from service.usecases.records.callers.found_firm import FoundFirm
from tests.effort import LOST_AFTER_S
from tests.fakes import SetClock
from tests.journeys.browser.looks import LOST_AFTER_MS
from tests.journeys.demo_process import demo_environment
from tests.servers.ports import free_port

CHROMIUM = "/usr/bin/chromium"
COMMAND = "import sys; from service.cli import main; sys.exit(main())"
expect.set_options(timeout=LOST_AFTER_MS)


class Demo:
    """A demo that is served, that can be killed, and begun again with the same records."""

    def __init__(self, folder):
        self._folder = folder
        self.process = None
        # Its own: while it is gone, another demo would take the first that is free.
        self.port = free_port()

    def begin(self, *more):
        words = ["--folder", str(self._folder), "--day", "2026-05-20", "--port", str(self.port)]
        self.process = subprocess.Popen(
            [sys.executable, "-c", COMMAND, "demo", *words, *more],
            cwd=Path(__file__).parents[3],
            env=demo_environment(),
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        lines = []
        for line in self.process.stdout:
            lines.append(line)
            if line.startswith("Ctrl-C"):
                break
        text = "".join(lines)
        self.owners_link = re.search(r"(http://\S+/join/\S+)\s+the owner", text)[1]
        self.key = re.search(r"paste the key (\S+) under", text)[1]
        self.note = re.search(r"(http://\S+/notes/\S+)\s+a delivery note", text)[1]
        self.address = f"http://127.0.0.1:{self.port}"

    def end(self, how=signal.SIGTERM):
        self.process.send_signal(how)
        self.process.wait(timeout=LOST_AFTER_S)
        self.process.stdout.close()

    def invite(self, seat, **scope):
        """Return the address of one more link."""
        answer = self.ask("POST", "/sessions", json={"seat": seat, "name": "Dana", **scope})
        return answer["link"]

    def found(self):
        """Keep a firm of nothing but its name, and return a link for its owner."""
        engine = make_engine(f"sqlite:///{self._folder / 'records.sqlite'}")
        handed = {
            "open_unit_of_work": unit_of_work_opener(engine),
            "clock": SetClock(datetime(2026, 5, 20, 9, 0, tzinfo=UTC)),
            "identifiers": FreshIdentifiers(),
        }
        firm = FoundFirm(**handed)(
            name="Ash Lawns", address="1 Ash Road", phone="01632 960111", currency="GBP"
        )
        keys = KeepKeys(
            **handed, open_reading=handed["open_unit_of_work"], make_secret=secrets.token_urlsafe
        )
        secret = keys.make(firm.id, KeyOf(role=Role.OWNER, name="test")).secret
        engine.dispose()
        answer = requests.post(
            f"{self.address}/sessions",
            json={"seat": "owner", "name": "Olu"},
            headers={"Authorization": f"Bearer {secret}"},
            timeout=LOST_AFTER_S,
        )
        answer.raise_for_status()
        return answer.json()["link"]

    def ask(self, method, path, *, said=(), **more):
        headers = {"Authorization": f"Bearer {self.key}", **dict(said)}
        answer = requests.request(
            method, f"{self.address}{path}", headers=headers, timeout=LOST_AFTER_S, **more
        )
        answer.raise_for_status()
        return answer.json() if answer.content else None


@pytest.fixture(scope="package")
def demo(tmp_path_factory):
    served = Demo(tmp_path_factory.mktemp("screens") / "records")
    served.begin()
    yield served
    served.end()


@pytest.fixture(scope="package")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM)
        yield browser
        browser.close()


@pytest.fixture
def device(chromium, demo):
    """Return what joins as somebody at a width; what went wrong in it is told at the end."""
    wrong, contexts = [], []

    def opened(link, width=390):
        context = chromium.new_context(viewport={"width": width, "height": 780})
        context.set_default_timeout(LOST_AFTER_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda fault: wrong.append(str(fault)))
        page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
        page.on("request", lambda asked: wrong.append(asked.url) if foreign(asked.url) else None)
        page.goto(link)
        return SimpleNamespace(page=page, context=context)

    def join(link, width=390):
        joined = opened(link, width)
        joined.page.get_by_role("button", name="Join on this device").click()
        joined.page.wait_for_url("**/screens/**")
        return joined

    def foreign(url):
        return not url.startswith((demo.address, "data:", "blob:"))

    yield SimpleNamespace(join=join, opened=opened, wrong=wrong)
    for context in contexts:
        context.close()

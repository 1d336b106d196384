"""The application over one database, a firm in it, and what its requests cost."""

import time
from pathlib import Path

from sqlalchemy import event

from service import bootstrap
from service.gateways.time_and_ids import FreshIdentifiers
from service.planning.model.stop_rule import StopRule
from service.settings import Settings
from service.storage.engine import make_engine
from service.storage.migrations import upgrade
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.fakes import SetClock
from tests.firms import SIX, make_firm
from tests.screens import OURS
from tests.worlds import World

JOBS, VEHICLES = 200, 30
SETTINGS = Settings(database_url="sqlite://", signing_key="a signing key of the bench, no other")


class Service:
    """The application over one database, a firm in it, and what its requests cost."""

    def __init__(self, url, *, jobs=JOBS, vehicles=VEHICLES):
        upgrade(url)
        self.sizes = jobs, vehicles
        self.url = url
        self.engine = make_engine(url)
        self.clock = SetClock(SIX)
        self.statements = []
        self.backends = set()
        self.began_ns = 0
        event.listen(self.engine, "before_cursor_execute", self._heard)
        event.listen(self.engine, "after_cursor_execute", self._ended)
        if self.engine.dialect.name == "postgresql":
            event.listen(self.engine, "connect", self._connected)
        writing, reading = unit_of_work_opener(self.engine), reading_opener(self.engine)
        self.use_cases = bootstrap.build_use_cases(
            SETTINGS,
            writing=writing,
            reading=reading,
            clock=self.clock,
            identifiers=FreshIdentifiers(),
            stop=StopRule(first=True),
        )
        app = bootstrap.make_app(SETTINGS, self.use_cases)
        self.firm = make_firm(writing)
        key = World(
            app=app, clock=self.clock, identifiers=FreshIdentifiers(), open_unit_of_work=writing
        ).key(self.firm.caller.firm_id)
        self.client = app.test_client()
        self.client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {key}"
        self.device = app.test_client()
        link = self.sent("POST", "/sessions", json={"seat": "dispatcher", "name": "Dana"})
        self.device.post(link.json["link"].removeprefix(SETTINGS.public_url), headers=OURS)

    def _heard(self, _connection, _cursor, statement, parameters, *_rest):
        self.statements.append([0.0, statement, parameters])
        self.began_ns = time.perf_counter_ns()

    def _ended(self, *_all):
        self.statements[-1][0] = (time.perf_counter_ns() - self.began_ns) / 1e6

    def _connected(self, connection, _entry):
        self.backends.add(connection.info.backend_pid)

    def sent(self, method, path, *, by=None, **body):
        """Return the answer to a request, which must be a good one."""
        answer = (by or self.client).open(path, method=method, **body)
        assert answer.status_code < 400, answer.text
        return answer

    def used_ms(self):
        """Return the processor time so far of this process and of its connections' servers."""
        ours = time.process_time_ns()
        for pid in self.backends:
            told = Path(f"/proc/{pid}/schedstat")
            ours += int(told.read_text(encoding="ascii").split()[0]) if told.exists() else 0
        return ours / 1e6

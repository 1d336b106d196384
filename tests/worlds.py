"""Apps for tests: the real routes and use cases over records in memory or in a database."""

from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

from flask.testing import FlaskClient

from service import bootstrap, logs
from service.api.application import create_app
from service.core.access import Firm, Role
from service.settings import Settings
from service.usecases.api_keys import CreateKey
from tests.fakes import CountingIdentifiers, MemoryStore, SetClock

NOW = datetime(2026, 5, 24, 12, 0, tzinfo=UTC)
SETTINGS = Settings(database_url="sqlite://", signing_key="a signing key for tests only, no other")


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """An app, what it stands on, and a client for each role of a firm."""

    app: object
    clock: SetClock
    identifiers: CountingIdentifiers
    open_unit_of_work: object

    def client(self, firm_id: UUID, role: Role = Role.OWNER) -> FlaskClient:
        """Return a client that sends a fresh key of the firm with every request."""
        client = self.app.test_client()
        client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {self.key(firm_id, role)}"
        return client

    def key(self, firm_id: UUID, role: Role = Role.OWNER) -> str:
        """Return the secret of a fresh key."""
        create = CreateKey(
            open_unit_of_work=self.open_unit_of_work,
            clock=self.clock,
            identifiers=self.identifiers,
            make_secret=lambda _size: f"secret-of-{self.identifiers.next_id()}",
        )
        return create(firm_id, role=role, name="test").secret

    def firm(self, name: str = "Meadow & Daughter") -> UUID:
        """Keep a firm and return its id."""
        firm = Firm(
            id=self.identifiers.next_id(),
            name=name,
            address="1 Depot Lane, Anytown",
            phone="+44 20 7946 0000",
            currency="GBP",
            created_at=self.clock.now(),
        )
        with self.open_unit_of_work() as unit:
            unit.firms.add(firm)
            unit.commit()
        return firm.id


def make_world(writing=None, reading=None) -> World:
    """Return an app over records in memory, or over what the units of work open."""
    writing = writing or MemoryStore()
    clock, identifiers = SetClock(NOW), CountingIdentifiers()
    use_cases = bootstrap.build_use_cases(
        SETTINGS,
        writing=writing,
        reading=reading or writing,
        clock=clock,
        identifiers=identifiers,
    )
    app = create_app(bootstrap.options_of(SETTINGS), use_cases, prepare=logs.log_requests)
    return World(app=app, clock=clock, identifiers=identifiers, open_unit_of_work=writing)

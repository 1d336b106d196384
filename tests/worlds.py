"""Apps for tests: the real routes and use cases over records in memory or in a database."""

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from uuid import UUID

from flask import has_request_context, request
from flask.testing import FlaskClient

from service import bootstrap
from service.api.books import clients, crews, sites
from service.api.books.treatments import TREATMENTS
from service.core.callers.access import SCOPES, ApiKey, Firm, Role
from service.settings import Settings
from service.usecases.base import whose
from service.usecases.records.callers.api_keys import PREFIX, fingerprint_of
from tests import everybody  # noqa: F401 - for its effect
from tests.effort import LOST_AFTER_S
from tests.fakes import CountingIdentifiers, MemoryStore, SetClock

NOW = datetime(2026, 5, 24, 12, 0, tzinfo=UTC)
GROUND = "tests.ground"  # where in a request the world is
IN_HAND = "tests.days_in_hand"  # worlds count their ids alike: none keeps the day of another
SETTINGS = Settings(
    database_url="sqlite://",
    signing_key="a signing key for tests only, no other",
    requests_per_minute=1_000_000,
    computation_seconds_per_minute=100_000,
    plan_seconds=LOST_AFTER_S,  # a plan that the clock cut would be another on a busy machine
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What an app stands on."""

    writing: object
    reading: object
    clock: SetClock
    identifiers: CountingIdentifiers


class Ours:
    """What the world that a request is sent to has in this place: its clock, say."""

    def __init__(self, place: str, *, before: object = None) -> None:
        self._place, self._before = place, before

    def _here(self):
        """Return it; what was there before any world while the app is made."""
        if has_request_context():
            return getattr(request.environ[GROUND], self._place)
        return self._before

    def __call__(self):
        return self._here()()

    def __getattr__(self, name: str):
        return getattr(self._here(), name)


@cache
def app_of_all_worlds():
    """Return the app, made once a process: that takes a second, and tests ask for hundreds."""
    use_cases = bootstrap.build_use_cases(
        SETTINGS,
        writing=Ours("writing"),
        reading=Ours("reading"),
        clock=Ours("clock", before=SetClock(NOW)),
        identifiers=Ours("identifiers"),
    )
    app = bootstrap.make_app(SETTINGS, use_cases)
    app.wsgi_app = for_nobody_yet(app.wsgi_app)
    app.extensions[IN_HAND] = use_cases.pre_mow_check.days
    return app


def for_nobody_yet(wsgi_app):
    """Return the app as a request finds it: whose records it is about, nobody has said."""

    def answer(environ, start_response):
        with whose.working_for(None):
            return wsgi_app(environ, start_response)

    return answer


class WorldsApp:
    """The app over one world's records."""

    def __init__(self, ground: Ground) -> None:
        self._ground = ground

    def __call__(self, environ, start_response):
        return app_of_all_worlds()({**environ, GROUND: self._ground}, start_response)

    def test_client(self) -> FlaskClient:
        """Return a client whose requests are answered from this world's records."""
        client = app_of_all_worlds().test_client()
        client.environ_base[GROUND] = self._ground
        return client

    def __getattr__(self, name: str):
        return getattr(app_of_all_worlds(), name)


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """An app, what it stands on, and a client for each role of a firm."""

    app: WorldsApp
    clock: SetClock
    identifiers: CountingIdentifiers
    open_unit_of_work: object

    def client(self, firm_id: UUID, role: Role = Role.OWNER, **scope) -> FlaskClient:
        """Return a client that sends a fresh key of the firm with every request.

        A key of somebody's own is of nobody who is kept, unless it is said whose.
        """
        client = self.app.test_client()
        client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {self.key(firm_id, role, **scope)}"
        return client

    def key(self, firm_id: UUID, role: Role = Role.OWNER, **scope) -> str:
        """Return the secret of a fresh key."""
        if role in SCOPES and not scope:
            scope = {min(SCOPES[role]).value: UUID(int=9)}
        secret = f"{PREFIX}secret-of-{self.identifiers.next_id()}"
        key = ApiKey(
            id=self.identifiers.next_id(),
            firm_id=firm_id,
            role=role,
            name="test",
            secret_sha256=fingerprint_of(secret),
            created_at=self.clock.now(),
            **{own: UUID(str(one)) for own, one in scope.items() if one is not None},
        )
        with whose.working_for(firm_id), self.open_unit_of_work() as unit:
            unit.api_keys.add(key)
            unit.commit()
        return secret

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
        with whose.working_for(firm.id), self.open_unit_of_work() as unit:
            unit.firms.add(firm)
            unit.commit()
        return firm.id


def make_world(writing=None, reading=None) -> World:
    """Return an app over records in memory, or over what the units of work open."""
    for kept in (IN_HAND, "written_answers"):
        app_of_all_worlds().extensions[kept].forget()
    writing = writing or MemoryStore()
    clock, identifiers = SetClock(NOW), CountingIdentifiers()
    ground = Ground(
        writing=writing, reading=reading or writing, clock=clock, identifiers=identifiers
    )
    return World(
        app=WorldsApp(ground), clock=clock, identifiers=identifiers, open_unit_of_work=writing
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """A firm with one record of each kind, kept over HTTP; the ids by the name of the path."""

    client: FlaskClient
    ids: dict[str, str]

    def another_lawn(self):
        """Keep a lawn beside the first: one that is mown is not mown again on the day."""
        names = {"property_id": self.ids["properties"], "name": "Another"}
        answer = self.client.post("/lawns", json={**clients.LAWNS.example, **names})
        assert answer.status_code == 201, answer.text
        return answer.json["id"]

    def job(self, **fields):
        """Return the body of a job that can be posted."""
        return {
            "lawn_id": self.ids["lawns"],
            "crew_id": self.ids["crews"],
            "vehicle_id": self.ids["vehicles"],
            "state": "mown",
            "cut_at": "2026-05-24T10:40:00+01:00",
            "area_mowed": {"value": 450, "unit": "m2"},
            "height_removed": {"value": 1.5, "unit": "[in_i]"},
            "wetness": "dry",
            "treatment_history": "none_recorded",
            **fields,
        }


# What each record names, by the field that holds the id.
NAMES = {
    "client_id": "clients",
    "property_id": "properties",
    "lawn_id": "lawns",
    "depot_id": "depots",
    "vehicle_id": "vehicles",
}
NONE: frozenset[str] = frozenset()
IN_ORDER = (
    ("clients", clients.CLIENTS),
    ("properties", clients.PROPERTIES),
    ("lawns", clients.LAWNS),
    ("beds", clients.BEDS),
    ("depots", sites.DEPOTS),
    ("hold-bays", sites.HOLD_BAYS),
    ("vehicles", crews.VEHICLES),
    ("crews", crews.CREWS),
    *((site.path, site) for site in sites.SITES),
)


def furnish(world: World, firm_id: UUID | None = None, *, without: frozenset[str] = NONE) -> Yard:
    """Keep one record of each kind over HTTP, from the contract's own examples, but some kinds.

    In a world where nothing was done yet they are put straight where they were kept once.
    """
    if firm_id is not None or world.identifiers.count or world.clock.now() != NOW:
        return _furnished(world.client(firm_id or world.firm()), without)
    first, yard = _furnished_once(without)
    world.identifiers.count = first.identifiers.count
    kept = first.open_unit_of_work.kept
    (firm,) = kept["firms"].values()
    rows = [(record.id, name, record) for name in kept for record in kept[name].values()]
    with whose.working_for(firm.id), world.open_unit_of_work() as unit:
        for _, name, record in sorted(rows, key=lambda row: row[0]):
            getattr(unit, name).add(record)
        unit.commit()
    client = world.app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = yard.client.environ_base["HTTP_AUTHORIZATION"]
    return Yard(client=client, ids=dict(yard.ids))


@cache
def _furnished_once(without: frozenset[str]) -> tuple[World, Yard]:
    world = make_world()
    return world, _furnished(world.client(world.firm()), without)


def _furnished(client: FlaskClient, without: frozenset[str]) -> Yard:
    ids: dict[str, str] = {}
    for path, resource in IN_ORDER:
        if path in without:
            continue
        body = dict(resource.example)
        for field, names in NAMES.items():
            if field in resource.example:
                body[field] = ids[names]
        answer = client.post(f"/{path}", json=body)
        assert answer.status_code == 201, answer.text
        ids[path] = answer.json["id"]
    return Yard(client=client, ids=ids)


def work(yard: Yard) -> Yard:
    """Mow a clean lawn and a treated one, plan, issue a note: one of each kind of paper."""
    ids, client = dict(yard.ids), yard.client
    back = {**clients.LAWNS.example, "property_id": ids["properties"], "name": "Back"}
    treated = client.post("/lawns", json=back).json["id"]
    statement = {**TREATMENTS.example, "lawn_id": treated, "applied_on": "2026-05-20"}
    ids["treatments"] = client.post("/treatments", json=statement).json["id"]
    small = {"value": 60, "unit": "m2"}
    ids["jobs"] = client.post("/jobs", json=yard.job(area_mowed=small)).json["id"]
    other = {**crews.VEHICLES.example, "depot_id": ids["depots"], "registration": "AB13 CDE"}
    own = {"lawn_id": treated, "vehicle_id": client.post("/vehicles", json=other).json["id"]}
    in_the_workshop = {**crews.VEHICLE_OUTAGES.example, "out_since": "2026-05-27T06:00:00Z"}
    in_the_workshop["vehicle_id"] = own["vehicle_id"]
    ids["vehicle-outages"] = client.post("/vehicle-outages", json=in_the_workshop).json["id"]
    client.post("/jobs", json=yard.job(area_mowed=small, **own))
    # Before the plan: it changes what the day is built on.
    known = client.get(f"/jobs/{ids['jobs']}").json["lot_code"]
    begun = {"lot_code": known, "reason": "A mistake."}
    ids["recalls"] = client.post("/recalls", json=begun).json["id"]
    client.post(f"/recalls/{ids['recalls']}/end")
    wanted = {"depot_id": ids["depots"], "day": "2026-05-24"}
    ids["day-plans"] = client.post("/day-plans", json=wanted).json["id"]
    (load,) = client.get("/loads?destination_kind=bed").json["items"]
    ids["loads"] = load["id"]
    ids["hold-entries"] = client.get("/hold-entries").json["items"][0]["id"]
    note = client.post(f"/loads/{load['id']}/delivery-notes").json
    ids["delivery-notes"] = note["id"]
    ids["mass-movements"] = client.get("/mass-movements").json["items"][0]["id"]
    invited = {"seat": "dispatcher", "name": "Office"}
    ids["sessions"] = client.post("/sessions", json=invited).json["id"]
    program = {"role": "integrator", "name": "Export"}
    ids["keys"] = client.post("/keys", json=program).json["id"]
    return Yard(client=client, ids=ids)

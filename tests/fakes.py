"""Stand-ins for the ports: records in memory, a clock that is set, ids that count."""

from collections import defaultdict
from datetime import timedelta
from uuid import UUID

from service.usecases.base.registry import kept_records
from service.usecases.base.whose import whose
from tests.in_memory.callers import Amendments, Answers, ApiKeys, Firms, Sessions
from tests.in_memory.days import DayPlans, PlanningTurns, Searches, WorkingDays
from tests.in_memory.kept_texts import KeptTexts
from tests.in_memory.mass_book import (
    BodyStays,
    MassBalances,
    MassMovements,
    SettledLoads,
    WeighedLoads,
)
from tests.in_memory.records import FoundByLoads, Jobs, Loads, Notes, Outages, Recalls, Records


class SetClock:
    """A clock that stands until it is moved."""

    def __init__(self, at):
        self.at = at

    def now(self):
        return self.at

    def move(self, **span):
        self.at += timedelta(**span)


class CountingIdentifiers:
    """Ids in the form of UUIDv7 that count upwards."""

    def __init__(self):
        self.count = 0

    def next_id(self):
        self.count += 1
        return UUID(int=(0x01900000_0000_7000_8000 << 48) + self.count)


SPECIAL = {
    "jobs": Jobs,
    "loads": Loads,
    "hold_entries": FoundByLoads,
    "mass_movements": MassMovements,
    "working_days": WorkingDays,
    "day_plans": DayPlans,
    "recalls": Recalls,
    "vehicle_outages": Outages,
    "delivery_notes": Notes,
}


KEPT = tuple(kept_records())
DIRECTORY = (
    "firms",
    "api_keys",
    "sessions",
    "amendments",
    "answers",
    "mass_balances",
    "body_stays",
    "settled_loads",
)


class UnitInMemory:
    """One transaction: it works on a copy, which a commit puts in place of what was kept."""

    def __init__(self, store):
        self._store = store

    def __enter__(self):
        self._draft = {name: dict(kept) for name, kept in self._store.kept.items()}
        self.firms = Firms(self._draft["firms"])
        self.api_keys = ApiKeys(self._draft["api_keys"])
        self.sessions = Sessions(self._draft["sessions"])
        self.amendments = Amendments(self._draft["amendments"])
        self.answers = Answers(self._draft["answers"])
        self.mass_balances = MassBalances(self._draft["mass_balances"])
        entries = self._draft["mass_movements"].values()
        self.body_stays = BodyStays(self._draft["body_stays"], entries)
        self.settled_loads = SettledLoads(self._draft["settled_loads"])
        for name in KEPT:
            repository = SPECIAL.get(name, Records)
            setattr(self, name, repository(self._draft[name], name.rstrip("s")))
        self.weighed_loads = WeighedLoads(self.loads)
        self.kept_texts = KeptTexts(self._draft)
        self.planning_turns = PlanningTurns()
        self.searches = Searches()
        self.jobs.balances = self.mass_balances
        self.loads.notes = self.delivery_notes
        for found_by_loads in (self.jobs, self.hold_entries, self.delivery_notes):
            found_by_loads.loads = self.loads
        return self

    def __exit__(self, kind, error, trace):
        self._draft = None

    def commit(self):
        self._store.kept.update({name: dict(kept) for name, kept in self._draft.items()})

    def begin_part(self):
        return PartInMemory(self._draft)

    def repository(self, name):
        return getattr(self, name)


class PartInMemory:
    """A part of a transaction: rolled back, the draft is again what it was when the part began."""

    def __init__(self, draft):
        self._draft = draft
        self._before = {name: dict(kept) for name, kept in draft.items()}

    def commit(self):
        self._before = None

    def rollback(self):
        for name, kept in self._before.items():
            self._draft[name].clear()
            self._draft[name].update(kept)


class MemoryStore:
    """Everything kept, in memory; calling it opens a unit of work."""

    def __init__(self):
        self.kept = defaultdict(dict)
        for name in (*DIRECTORY, *KEPT):
            self.kept[name] = {}

    def __call__(self):
        whose()  # as the databases are, it is not opened before somebody says whose it is
        return UnitInMemory(self)

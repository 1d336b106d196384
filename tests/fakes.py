"""Stand-ins for the ports: records in memory, a clock that is set, ids that count."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace
from uuid import UUID

from service.core.errors import RecordExists, RecordMissing, VersionOvertaken
from service.core.jobs import UNCOUNTED_STATES, JobState
from service.core.loads import LoadState, TicketReview
from service.core.mass_book import AMOUNTS, NOTHING, VEHICLE, Amounts, BroughtOnADay, MassMoved
from service.core.materials import LotStatus
from service.usecases.base.kept_answers import KeptAnswer
from service.usecases.base.ports import SAID, Page
from service.usecases.base.registry import kept_records
from service.usecases.base.whose import whose


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
        self._count = 0

    def next_id(self):
        self._count += 1
        return UUID(int=(0x01900000_0000_7000_8000 << 48) + self._count)


def _wanted(record, filters):
    return all(
        getattr(record, field) is not None
        if wanted is SAID
        else getattr(record, field) in (wanted if isinstance(wanted, (tuple, list)) else (wanted,))
        for field, wanted in filters.items()
    )


class Records:
    """Records of one kind, as a repository."""

    def __init__(self, kept, kind):
        self._kept, self._kind = kept, kind

    def _of(self, firm_id, **filters):
        mine = (record for (firm, _), record in self._kept.items() if firm == firm_id)
        return sorted((r for r in mine if self._is(r, filters)), key=lambda record: record.id)

    def _is(self, record, filters):
        return _wanted(record, filters)

    def get(self, firm_id, record_id):
        return self._kept.get((firm_id, record_id))

    def get_many(self, firm_id, ids):
        return {i: self._kept[firm_id, i] for i in ids if (firm_id, i) in self._kept}

    def page(self, firm_id, *, filters, after, limit):
        found = [r for r in self._of(firm_id, **filters) if after is None or r.id > after]
        shown = tuple(found[:limit])
        return Page(records=shown, next_after=shown[-1].id if len(found) > limit else None)

    def all(self, firm_id, **filters):
        return self._of(firm_id, **filters)

    def count(self, firm_id, **filters):
        return len(self._of(firm_id, **filters))

    def add(self, record):
        if (record.firm_id, record.id) in self._kept:
            raise RecordExists(record=self._kind, id=record.id)
        self._kept[record.firm_id, record.id] = record

    def add_many(self, records):
        for record in records:
            self.add(record)

    def replace(self, record, *, expected_version):
        kept = self.get(record.firm_id, record.id)
        if kept is None:
            raise RecordMissing(record=self._kind, id=record.id)
        if kept.version != expected_version:
            raise VersionOvertaken(
                record=self._kind, current=kept.version, expected=expected_version
            )
        self._kept[record.firm_id, record.id] = record

    def replace_many(self, records):
        for record in records:
            self.replace(record, expected_version=record.version - 1)

    def remove(self, firm_id, record_id):
        if self._kept.pop((firm_id, record_id), None) is None:
            raise RecordMissing(record=self._kind, id=record_id)


class Loads(Records):
    """Loads, found by what they carry and by what was answered to their notes, too."""

    def _is(self, load, filters):
        own = {n: v for n, v in filters.items() if n not in {"days", "lot_code", "answer"}}
        days = filters.get("days", [SimpleNamespace(depot_id=load.depot_id, day=load.working_day)])
        codes = {part.lot_code for part in load.parts}
        lots = _any_of(filters.get("lot_code", tuple(codes)))
        return (
            _wanted(load, own)
            and any((load.depot_id, load.working_day) == (day.depot_id, day.day) for day in days)
            and not codes.isdisjoint(lots)
            and ("answer" not in filters or load.id in self._answered(load, filters["answer"]))
        )

    def around(self, firm_id, day, *, days, start, end, job_ids):
        before = {LoadState.PLANNED, LoadState.REFUSED, LoadState.PARTLY_REFUSED}
        return [
            load
            for load in self._of(firm_id, working_day=tuple(days))
            if load.state is not LoadState.SUPERSEDED
            and (
                load.working_day == day
                or (load.working_day < day and load.state in before)
                or (load.done_at is not None and start <= load.done_at < end)
                or not {part.job_id for part in load.parts}.isdisjoint(job_ids)
            )
        ]

    def _answered(self, load, wanted):
        notes = self.notes.all(load.firm_id, load_id=load.id)
        newest = {note.number: note for note in sorted(notes, key=lambda note: note.note_version)}
        return {note.load_id for note in newest.values() if note.answer in _any_of(wanted)}


class FoundByLoads(Records):
    """Papers that name a load."""

    OF_THE_LOAD = frozenset(
        [
            "days",
            "lot_code",
            "depot_id",
            "vehicle_id",
            "crew_id",
            "destination_kind",
            "destination_id",
        ]
    )

    def _is(self, paper, filters):
        own = {n: v for n, v in filters.items() if n not in self.OF_THE_LOAD}
        of_load = {n: v for n, v in filters.items() if n in self.OF_THE_LOAD}
        return _wanted(paper, own) and (
            not of_load or bool(self.loads.all(paper.firm_id, id=paper.load_id, **of_load))
        )


def _any_of(wanted):
    return wanted if isinstance(wanted, tuple) else (wanted,)


class Jobs(Records):
    def _is(self, job, filters):
        by_loads = {"answer", "destination_kind", "destination_id"}
        own = {n: v for n, v in filters.items() if n not in by_loads | {"days", "may_be_sour"}}
        asked = {n: v for n, v in filters.items() if n in by_loads}
        days = filters.get("days", [SimpleNamespace(depot_id=job.depot_id, start=job.at, end=None)])
        carried = asked and self.loads.all(job.firm_id, lot_code=job.lot_code, **asked)
        return (
            _wanted(job, own)
            and any(
                job.depot_id == d.depot_id and d.start <= job.at and (not d.end or job.at < d.end)
                for d in days
            )
            and (not asked or bool(carried))
            and (job.status in filters.get("may_be_sour", [job.status]) or self._may_be_sour(job))
        )

    def _may_be_sour(self, job):
        loads = self.loads.all(job.firm_id, lot_code=job.lot_code)
        aboard = {balance.lot_id for balance in self.balances.at(job.firm_id, VEHICLE, None)}
        return job.id in aboard or any(load.status is not LotStatus.CLEAN for load in loads)

    def of_day(self, firm_id, depot_id, start, end, *, vehicle_id=None):
        wanted = {} if vehicle_id is None else {"vehicle_id": vehicle_id}
        found = self._of(firm_id, depot_id=depot_id, **wanted)
        within = [j for j in found if j.state not in UNCOUNTED_STATES and start <= j.at < end]
        return sorted(within, key=lambda job: (job.at, job.id))

    def visits(self, firm_id, ids, *, lawn_ids, start, end):
        return [
            job
            for job in self._of(firm_id)
            if {job.id, job.reported_as_id} & set(ids)
            or (job.lawn_id in lawn_ids and start <= job.at < end)
        ]

    def lock(self, firm_id, job_ids):
        pass

    def aboard(self, firm_id, depot_id, before):
        bodies = self.balances.at(firm_id, VEHICLE, None)
        lots = {balance.lot_id for balance in bodies}
        found = self._of(firm_id, depot_id=depot_id)
        cut = [j for j in found if j.id in lots and j.cut_at is not None and j.cut_at < before]
        return sorted(cut, key=lambda job: (job.at, job.id))

    def mowings_since(self, firm_id, lawn_ids, since):
        times = defaultdict(list)
        for job in self._of(firm_id, state=JobState.MOWN, lawn_id=tuple(lawn_ids)):
            if job.cut_at.date() >= since:
                times[job.lawn_id].append(job.cut_at)
        return {lawn: sorted(cuts) for lawn, cuts in times.items()}


class MassMovements(Records):
    def of_lots(self, firm_id, lot_ids):
        return self._of(firm_id, lot_id=tuple(lot_ids))

    def brought(self, firm_id, place_ids, *, since, before, without=()):
        days = defaultdict(list)
        for entry in self._of(firm_id, to_id=tuple(place_ids)):
            if since <= entry.day < before and entry.cause_id not in without:
                days[entry.to_id, entry.day].append(entry)
        return [
            BroughtOnADay(
                place_id=place,
                day=day,
                mass_kg=sum(e.mass_high_kg * _counted(e) for e in entries),
                nitrogen_kg=sum(e.nitrogen_high_kg * _counted(e) for e in entries),
            )
            for (place, day), entries in sorted(days.items())
            if sum(entry.share for entry in entries) > NOTHING
        ]

    def lots_brought(self, firm_id, place_id, *, since, until):
        stand = Counter()
        for entry in self._of(firm_id, to_id=place_id):
            if since <= entry.day <= until:
                stand[entry.lot_id] += 1 if entry.corrects_id is None else -1
        return sorted(lot_id for lot_id, count in stand.items() if count > 0)

    def moved(self, firm_id, depot_id, *, since, before):
        ways = defaultdict(list)
        for e in self._of(firm_id, depot_id=depot_id):
            if since <= e.day < before:
                ways[e.day, e.from_kind, e.from_id, e.to_kind, e.to_id, e.status.value].append(e)
        names = tuple(MassMoved.__dataclass_fields__)
        return [
            MassMoved(
                **dict(zip(names, way, strict=False)),
                **{name: sum(getattr(e, name) for e in some) for name in names[6:10]},
                weighed_kg=sum(e.weighed_kg or 0.0 for e in some),
                estimated_of_weighed_kg=sum(
                    e.mass_likely_kg for e in some if e.weighed_kg is not None
                ),
            )
            for way, some in sorted(ways.items())
            if sum(e.share for e in some) > NOTHING
        ]


def _counted(entry):
    if entry.weighed_kg is None or not entry.mass_high_kg:
        return 1.0
    return entry.weighed_kg / entry.mass_high_kg


class MassBalances:
    def __init__(self, kept):
        self._kept = kept

    def of_lots(self, firm_id, lot_ids):
        found = [b for b in self._kept.values() if b.firm_id == firm_id and b.lot_id in lot_ids]
        return sorted(found, key=lambda b: (b.lot_id, b.place_kind, b.place_id))

    def at(self, firm_id, place_kind, place_id):
        found = [
            b
            for b in self._kept.values()
            if (b.firm_id, b.place_kind) == (firm_id, place_kind) and place_id in (None, b.place_id)
        ]
        return sorted(found, key=lambda b: (b.place_id, b.lot_id))

    def totals(self, firm_id, place_kind=None):
        places = defaultdict(list)
        for b in self._kept.values():
            if b.firm_id == firm_id and place_kind in (None, b.place_kind):
                places[b.place_kind, b.place_id].append(b)
        return [
            (*place, Amounts(**{name: sum(getattr(b, name) for b in some) for name in AMOUNTS}))
            for place, some in sorted(places.items())
        ]

    def put(self, firm_id, lot_ids, balances, *, fresh=False):
        assert not (fresh and self.of_lots(firm_id, lot_ids))
        for balance in self.of_lots(firm_id, lot_ids):
            del self._kept[firm_id, balance.place_kind, balance.place_id, balance.lot_id]
        for b in balances:
            self._kept[firm_id, b.place_kind, b.place_id, b.lot_id] = b


class WorkingDays(Records):
    def of(self, firm_id, depot_id, day):
        return next(iter(self._of(firm_id, depot_id=depot_id, day=day)), None)

    def ensure(self, working_day):
        if self.of(working_day.firm_id, working_day.depot_id, working_day.day) is None:
            self.add(working_day)

    def bump(self, firm_id, *, depot_id, from_day, to_day):
        for day in self._of(firm_id):
            if (
                (depot_id is None or day.depot_id == depot_id)
                and from_day <= day.day
                and (to_day is None or day.day <= to_day)
            ):
                self._kept[firm_id, day.id] = replace(day, revision=day.revision + 1)

    def mark_planned(self, working_day, *, revision, plan_id):
        kept = self.get(working_day.firm_id, working_day.id)
        if kept.revision != revision:
            return False
        self._kept[kept.firm_id, kept.id] = replace(
            kept, planned_revision=revision, plan_id=plan_id
        )
        return True


class DayPlans(Records):
    def latest(self, firm_id, depot_id, day):
        found = self._of(firm_id, depot_id=depot_id, day=day)
        return max(found, key=lambda plan: plan.sequence, default=None)

    def fold(self, plan, *, beside):
        """Memory is no dearer whole."""


class Recalls(Records):
    def open(self, firm_id):
        return [replace(recall, content={}) for recall in self.all(firm_id, is_open=True)]


class Notes(FoundByLoads):
    def next_number(self, firm_id, year):
        return 1 + len({note.number for note in self._of(firm_id) if str(year) in note.number})

    def find(self, note_id):
        return next((note for (_, i), note in self._kept.items() if i == note_id), None)


class Firms:
    def __init__(self, kept):
        self._kept = kept

    def get(self, firm_id):
        return self._kept.get(firm_id)

    def add(self, firm):
        self._kept[firm.id] = firm

    def all(self):
        return sorted(self._kept.values(), key=lambda firm: firm.id)


class ApiKeys:
    def __init__(self, kept):
        self._kept = kept

    def find(self, secret_sha256):
        found = self._kept.get(secret_sha256)
        return None if found is None or found.revoked_at is not None else found

    def add(self, key):
        self._kept[key.secret_sha256] = key

    def all(self, firm_id):
        return [key for key in self._kept.values() if key.firm_id == firm_id]

    def get(self, firm_id, key_id):
        return next((key for key in self.all(firm_id) if key.id == key_id), None)

    def _change(self, firm_id, key_id, **changes):
        key = self.get(firm_id, key_id)
        if key is not None:
            self._kept[key.secret_sha256] = replace(key, **changes)
        return key is not None

    def revoke(self, firm_id, key_id, at):
        key = self.get(firm_id, key_id)
        return key is not None and self._change(firm_id, key_id, revoked_at=key.revoked_at or at)

    def expire(self, firm_id, key_id, at):
        key = self.get(firm_id, key_id)
        self._change(firm_id, key_id, expires_at=min(key.expires_at or at, at))

    def note_use(self, firm_id, key_id, at):
        self._change(firm_id, key_id, last_used_at=at)


class Sessions:
    def __init__(self, kept):
        self._kept = kept

    def _first(self, **wanted):
        return next((one for one in self._kept.values() if _wanted(one, wanted)), None)

    def find(self, session_id):
        return self._first(id=session_id)

    def find_by_secret(self, secret_sha256):
        return self._first(secret_sha256=secret_sha256)

    def add(self, session):
        self._kept[session.id] = session

    def join(self, joined):
        kept = self._first(id=joined.id, joined_at=None, ended_at=None)
        if kept is not None:
            self._kept[kept.id] = joined
        return kept is not None

    def all(self, firm_id):
        return [one for one in self._kept.values() if one.firm_id == firm_id]

    def end(self, firm_id, session_id, at):
        kept = self._first(firm_id=firm_id, id=session_id)
        if kept is not None:
            self._kept[kept.id] = replace(kept, ended_at=kept.ended_at or at)
        return kept is not None


class Amendments:
    def __init__(self, kept):
        self._kept = kept

    def add(self, amendment):
        self._kept[amendment.id] = amendment

    def of(self, firm_id, *record_ids):
        own = [a for a in self._kept.values() if a.firm_id == firm_id]
        found = [a for a in own if a.record_id in record_ids]
        return sorted(found, key=lambda amendment: (amendment.record_version, amendment.id))


class Answers:
    def __init__(self, kept):
        self._kept = kept

    def get(self, firm_id, key):
        return self._kept.get((firm_id, key))

    def begin(self, answer):
        if (answer.firm_id, answer.key) in self._kept:
            return False
        self._kept[answer.firm_id, answer.key] = answer
        return True

    def restart(self, answer, *, started_at):
        kept = self.get(answer.firm_id, answer.key)
        if kept is None or kept.status is not None or kept.started_at != answer.started_at:
            return False
        self._kept[answer.firm_id, answer.key] = replace(kept, started_at=started_at)
        return True

    def finish(self, firm_id, key, *, status, headers, body):
        kept: KeptAnswer = self._kept[firm_id, key]
        self._kept[firm_id, key] = replace(kept, status=status, headers=dict(headers), body=body)

    def forget(self, firm_id, key):
        self._kept.pop((firm_id, key), None)


class TicketParts:
    """Remembers nothing: every ticket is worked out again."""

    def __init__(self, loads):
        self._loads = loads

    def newest(self, firm_id, **_):
        accepted = self._loads.all(firm_id, ticket_review=TicketReview.ACCEPTED)
        weighed = [load for load in accepted if load.weighed_net is not None]
        return [], [load.id for load in weighed]

    def keep(self, parts):
        pass


class PlanningTurns:
    """Nobody plans behind in memory: who reads a day has it planned."""

    def of(self, *_):
        return None

    def waiting(self):
        return []


SPECIAL = {
    "jobs": Jobs,
    "loads": Loads,
    "hold_entries": FoundByLoads,
    "mass_movements": MassMovements,
    "working_days": WorkingDays,
    "day_plans": DayPlans,
    "recalls": Recalls,
    "delivery_notes": Notes,
}


KEPT = tuple(kept_records())
DIRECTORY = ("firms", "api_keys", "sessions", "amendments", "answers", "mass_balances")


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
        for name in KEPT:
            repository = SPECIAL.get(name, Records)
            setattr(self, name, repository(self._draft[name], name.rstrip("s")))
        self.ticket_parts = TicketParts(self.loads)
        self.planning_turns = PlanningTurns()
        self.jobs.balances = self.mass_balances
        self.loads.notes = self.delivery_notes
        for found_by_loads in (self.jobs, self.hold_entries, self.delivery_notes):
            found_by_loads.loads = self.loads
        return self

    def __exit__(self, kind, error, trace):
        self._draft = None

    def commit(self):
        self._store.kept.update({name: dict(kept) for name, kept in self._draft.items()})

    def repository(self, name):
        return getattr(self, name)


class MemoryStore:
    """Everything kept, in memory; calling it opens a unit of work."""

    def __init__(self):
        self.kept = defaultdict(dict)
        for name in (*DIRECTORY, *KEPT):
            self.kept[name] = {}

    def __call__(self):
        whose()  # as the databases are, it is not opened before somebody says whose it is
        return UnitInMemory(self)

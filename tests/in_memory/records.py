"""Stand-ins for the repositories of what is kept by firm and id."""

from collections import defaultdict
from dataclasses import replace
from types import SimpleNamespace

from service.core.errors import RecordExists, RecordMissing, VersionOvertaken
from service.core.jobs import UNCOUNTED_STATES, JobState
from service.core.loads import ENDED_STATES, LoadState
from service.core.mass_book import VEHICLE
from service.core.materials import LotStatus
from service.usecases.base.ports.unit_of_work import SAID, Page


def matches(record, filters):
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
        return matches(record, filters)

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


def _last(times, since, before):
    within = sorted((at, one) for one, at in times if at is not None and since < at < before)
    return {one: at for at, one in within}


def _any_of(wanted):
    return wanted if isinstance(wanted, tuple) else (wanted,)


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
        return matches(paper, own) and (
            not of_load or bool(self.loads.all(paper.firm_id, id=paper.load_id, **of_load))
        )


class Loads(Records):
    """Loads, found by what they carry and by what was answered to their notes, too."""

    def _is(self, load, filters):
        own = {n: v for n, v in filters.items() if n not in {"days", "lot_code", "answer"}}
        days = filters.get("days", [SimpleNamespace(depot_id=load.depot_id, day=load.working_day)])
        codes = {part.lot_code for part in load.parts}
        lots = _any_of(filters.get("lot_code", tuple(codes)))
        return (
            matches(load, own)
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

    def last_tips(self, firm_id, vehicle_ids, *, since, before):
        tipped = tuple(ENDED_STATES - {LoadState.REFUSED})
        found = self._of(firm_id, vehicle_id=tuple(vehicle_ids), state=tipped)
        return _last([(load.vehicle_id, load.done_at) for load in found], since, before)

    def _answered(self, load, wanted):
        notes = self.notes.all(load.firm_id, load_id=load.id)
        newest = {note.number: note for note in sorted(notes, key=lambda note: note.note_version)}
        return {note.load_id for note in newest.values() if note.answer in _any_of(wanted)}


class Jobs(Records):
    def _is(self, job, filters):
        by_loads = {"answer", "destination_kind", "destination_id"}
        own = {n: v for n, v in filters.items() if n not in by_loads | {"days", "may_be_sour"}}
        asked = {n: v for n, v in filters.items() if n in by_loads}
        days = filters.get("days", [SimpleNamespace(depot_id=job.depot_id, start=job.at, end=None)])
        carried = asked and self.loads.all(job.firm_id, lot_code=job.lot_code, **asked)
        return (
            matches(job, own)
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

    def not_reported(self, firm_id, depot_id, before):
        found = self._of(firm_id, depot_id=depot_id, state=JobState.PLANNED)
        late = [job for job in found if job.planned_at < before]
        return sorted(late, key=lambda job: (job.at, job.id))

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

    def last_cuts(self, firm_id, vehicle_ids, *, since, before):
        found = self._of(firm_id, vehicle_id=tuple(vehicle_ids), state=JobState.MOWN)
        return _last([(job.vehicle_id, job.cut_at) for job in found], since, before)


class Notes(FoundByLoads):
    def next_number(self, firm_id, year):
        return 1 + len({note.number for note in self._of(firm_id) if str(year) in note.number})

    def find(self, note_id):
        return next((note for (_, i), note in self._kept.items() if i == note_id), None)


class Outages(Records):
    def up_to(self, firm_id, day, *, back_after):
        return [
            one
            for one in self._of(firm_id)
            if one.day <= day
            and (one.day == day or one.back_at is None or one.back_at > back_after)
        ]


class Recalls(Records):
    def open(self, firm_id):
        return [replace(recall, content={}) for recall in self.all(firm_id, is_open=True)]

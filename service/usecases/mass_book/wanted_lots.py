"""Which lots a recall is about; a name that nothing on record bears is told, never "nothing"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from difflib import get_close_matches
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.errors import FieldFault, NotOnRecord, RecordMissing
from service.core.jobs import Job, JobState
from service.core.treatments import Treatment
from service.rules.treatments import TreatmentTable
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.lots.lot_estimates import LOT_CODE_LETTERS
from service.usecases.base.ports.unit_of_work import UnitOfWork

# Waits after a treatment reach back this far at most where nobody says since when [d]: a season.
# Common practice, no source.
LOOKED_BACK_DAYS = 365
NEAR_TOLD = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedLots:
    """Which lots are asked about: those of a lawn, a lot, a product's lawns, or what a place got.

    ``since`` and ``until`` are days of cutting (of a place: of bringing), both included.
    """

    lawn_id: UUID | None = None
    lot_code: str | None = None
    product: str | None = None
    destination_id: UUID | None = None
    since: date | None = None
    until: date | None = None

    def faults(self) -> list[FieldFault]:
        """Return what contradicts itself: nothing or several asked, or days out of order."""
        found = []
        asked = [self.lawn_id, self.lot_code, self.product, self.destination_id]
        if sum(one is not None for one in asked) != 1:
            detail = "Give one of lawn_id, lot_code, product and destination_id."
            found.append(FieldFault(pointer="/lawn_id", detail=detail, code="one_of_these"))
        if self.since is not None and self.until is not None and self.until < self.since:
            detail = "The last day is not before the first."
            found.append(FieldFault(pointer="/until", detail=detail))
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was asked about.

    Attributes
    ----------
    lots
        What was cut.
    lawns
        The lawns that were asked about, each since which day of cutting.
    not_known
        Treatments of which nobody knows whether they are meant: their product's active ingredients
        are not on record.
    """

    lots: list[Job]
    lawns: Mapping[UUID, date] = field(default_factory=dict)
    not_known: Sequence[Treatment] = ()


class LotSearch:
    """Finds the lots that are asked about in a firm's records."""

    def __init__(
        self, unit: UnitOfWork, firm_id: UUID, *, substances: TreatmentTable, now: datetime
    ) -> None:
        """Take the records, the names of active ingredients, and the time."""
        self._unit, self._firm_id = unit, firm_id
        self._substances = substances
        self._now = now

    def found(self, wanted: WantedLots) -> Found:
        """Return the lots that were cut, and the lawns. Raises RecordMissing, NotOnRecord."""
        unit, firm_id = self._unit, self._firm_id
        until = wanted.until or (self._now + timedelta(days=1)).date()
        since = wanted.since or until - timedelta(days=LOOKED_BACK_DAYS)
        if wanted.lot_code is not None:
            return Found(lots=self._of_code(wanted.lot_code))
        if wanted.destination_id is not None:
            return Found(lots=self._brought_to(wanted.destination_id, since, until))
        not_known: list[Treatment] = []
        first: dict[UUID, date] = {}
        if wanted.lawn_id is not None:
            if unit.lawns.get(firm_id, wanted.lawn_id) is None:
                raise RecordMissing(record="lawn", id=wanted.lawn_id)
            first = {wanted.lawn_id: since}
        else:
            treatments, not_known = self._treated_with(wanted.product or "")
            for treatment in treatments:
                day = max(treatment.applied_on, since) if wanted.since else treatment.applied_on
                first[treatment.lawn_id] = min(day, first.get(treatment.lawn_id, day))
        reached = since - timedelta(days=LOOKED_BACK_DAYS)
        return Found(
            lots=_cut_on(unit, firm_id, first, until),
            lawns=first,
            not_known=[one for one in not_known if reached <= one.applied_on <= until],
        )

    def _of_code(self, written: str) -> list[Job]:
        code = written.strip().upper()
        jobs = self._unit.jobs.all(self._firm_id, lot_code=code)
        if not jobs:
            near = self._unit.jobs.all(self._firm_id, lot_code=_one_letter_off(code))
            raise _not_on_record("lot", written, sorted({job.lot_code for job in near}))
        return _cut(jobs)

    def _treated_with(self, written: str) -> tuple[list[Treatment], list[Treatment]]:
        """Return the treatments with a product, or with an active ingredient by any of its names.

        Names are typed by hand: one in capitals is the same product. Beside them those that may be
        with an active ingredient, for all that is known of their products.
        """
        asked = self._plain(written)
        treatments = self._unit.treatments.all(self._firm_id)
        found = [one for one in treatments if asked in map(self._plain, _names(one))]
        is_ingredient = self._substances.substance_of(written) is not None or any(
            asked in map(self._plain, one.active_ingredients) for one in found
        )
        not_known = [
            one
            for one in treatments
            if is_ingredient
            and one not in found
            and not one.active_ingredients
            and self._substances.substance_of(one.product) is None
        ]
        if not (found or not_known):
            names = {_folded(name): name for one in treatments for name in _names(one)}
            near = get_close_matches(_folded(written), sorted(names), n=NEAR_TOLD)
            raise _not_on_record(
                "product or active ingredient", written, [names[name] for name in near]
            )
        return found, not_known

    def _plain(self, name: str) -> str:
        substance = self._substances.substance_of(name)
        return _folded(name if substance is None else substance.name)

    def _brought_to(self, place_id: UUID, since: date, until: date) -> list[Job]:
        """Return the lots of which something came to a place."""
        unit, firm_id = self._unit, self._firm_id
        ids = unit.mass_movements.lots_brought(firm_id, place_id, since=since, until=until)
        if not ids and not self._is_place(place_id):
            raise _not_on_record("place", str(place_id), [])
        return list(unit.jobs.get_many(firm_id, ids).values())

    def _is_place(self, place_id: UUID) -> bool:
        """Return whether something is on record under an id that clippings were, or may be, at."""
        unit, firm_id = self._unit, self._firm_id
        came = unit.mass_movements.page(
            firm_id, filters={"to_id": place_id}, after=None, limit=1
        ).records
        return bool(came) or any(
            unit.repository(kind.repository).get(firm_id, place_id) for kind in KINDS.values()
        )


def _names(treatment: Treatment) -> tuple[str, ...]:
    return treatment.product, *treatment.active_ingredients


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _one_letter_off(code: str) -> tuple[str, ...]:
    """Return the codes that one letter written wrongly, or two in the wrong order, may mean."""
    start = code.find("-") + 1
    found = {
        code[:at] + letter + code[at + 1 :]
        for at in range(start, len(code))
        for letter in LOT_CODE_LETTERS
    }
    found |= {
        code[:at] + code[at + 1] + code[at] + code[at + 2 :] for at in range(start, len(code) - 1)
    }
    return tuple(sorted(found))


def _not_on_record(what: str, written: str, near: Iterable[str]) -> NotOnRecord:
    told = list(near)[:NEAR_TOLD]
    hint = f" On record and near it: {', '.join(told)}." if told else ""
    return NotOnRecord(what=what, written=written, near=told, hint=hint)


def _cut(jobs: Iterable[Job]) -> list[Job]:
    return [job for job in jobs if job.state is JobState.MOWN and job.cut_at is not None]


def _cut_on(unit: UnitOfWork, firm_id: UUID, since: Mapping[UUID, date], until: date) -> list[Job]:
    """Return what was cut on some lawns, each from a day on; of a lawn unnamed, all that may be.

    A job that names no lawn may have cut any lawn of its property.
    """
    lawns = unit.lawns.get_many(firm_id, sorted(since))
    first: dict[UUID, date] = {}
    for lawn in lawns.values():
        day = since[lawn.id]
        first[lawn.property_id] = min(day, first.get(lawn.property_id, day))
    jobs = [
        *unit.jobs.all(firm_id, lawn_id=tuple(sorted(lawns))),
        *unit.jobs.all(firm_id, property_id=tuple(sorted(first)), lawn_id=None),
    ]
    depots = unit.depots.get_many(firm_id, sorted({job.depot_id for job in jobs}))
    found = []
    for job in _cut(jobs):
        day = job.at.astimezone(ZoneInfo(depots[job.depot_id].time_zone)).date()
        from_day = first[job.property_id] if job.lawn_id is None else since[job.lawn_id]
        if from_day <= day <= until:
            found.append(job)
    return found

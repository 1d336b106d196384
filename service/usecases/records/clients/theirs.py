"""Everything on record that is one client's, read at one moment."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import ApiKey
from service.core.errors import RecordMissing
from service.core.evidence.recalls import Recall
from service.core.jobs import Job
from service.core.loads import HoldEntry, Load
from service.core.notes import DeliveryNote
from service.core.personal.erasures import Erasure
from service.core.places import Bed, Client, Lawn, Property
from service.core.records import Record
from service.core.treatments import Treatment
from service.usecases.base.ports.kept_texts import KeptRow, Wanted
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.whose_then import ClientsThen

# Books in which a record that was deleted was a client's, by what it named.
NAMED_BY: Final = ("client_id", "property_id", "lawn_id")


@dataclass(frozen=True, slots=True, kw_only=True)
class Theirs:
    """What is one client's: land, what was said of it, what was cut there, what came there.

    ``loads`` are those to the client's beds, and those with anything in them that was cut on the
    client's lawns; ``changes`` the rows of their histories, also of what was deleted since.
    """

    client: Client
    properties: Sequence[Property]
    lawns: Sequence[Lawn]
    beds: Sequence[Bed]
    treatments: Sequence[Treatment]
    jobs: Sequence[Job]
    loads: Sequence[Load]
    hold_entries: Sequence[HoldEntry]
    delivery_notes: Sequence[DeliveryNote]
    recalls: Sequence[Recall]
    api_keys: Sequence[ApiKey]
    erasures: Sequence[Erasure]
    changes: Sequence[KeptRow]

    @property
    def places(self) -> frozenset[UUID]:
        """The ids of the client and of the land: what tells of many names them."""
        return frozenset(one.id for one in (self.client, *self.properties, *self.lawns, *self.beds))

    @property
    def brought(self) -> list[Load]:
        """The loads to the client's beds."""
        beds = {bed.id for bed in self.beds}
        return [load for load in self.loads if load.destination_id in beds]

    def numbers_in(self, recall: Recall) -> list[int]:
        """Return at which places of a recall's list to call the client stands."""
        places = {str(one) for one in self.places}
        return [
            number
            for number, person in enumerate(recall.people)
            if places & {str(one) for one in person["place_ids"]}
        ]

    def records(self) -> Iterator[tuple[str, Record]]:
        """Yield the records that are the client's own, with the names of their tables.

        A load is its destination's: what was cut here and lies elsewhere is told by its lots.
        """
        yield "clients", self.client
        books: Mapping[str, Sequence[Record]] = {
            "properties": self.properties,
            "lawns": self.lawns,
            "beds": self.beds,
            "treatments": self.treatments,
            "jobs": self.jobs,
            "loads": self.loads,
            "hold_entries": self.hold_entries,
            "delivery_notes": self.delivery_notes,
            "recalls": self.recalls,
        }
        for table, records in books.items():
            yield from ((table, record) for record in records)


def read_theirs(unit: UnitOfWork, firm_id: UUID, client_id: UUID) -> Theirs:
    """Return all that is a client's. Raises RecordMissing."""
    client = unit.clients.get(firm_id, client_id)
    if client is None:
        raise RecordMissing(record="client", id=client_id)
    properties = unit.properties.all(firm_id, client_id=client_id)
    homes = tuple(one.id for one in properties)
    lawns = unit.lawns.all(firm_id, property_id=homes)
    beds = unit.beds.all(firm_id, property_id=homes)
    bed_ids = tuple(bed.id for bed in beds)
    sold = _sold_by(unit, firm_id, client_id)
    whose = ClientsThen.of(unit, firm_id, [*properties, *sold])
    every_home = (*homes, *(one.id for one in sold))
    jobs = [
        job
        for job in unit.jobs.all(firm_id, property_id=every_home)
        if whose.on(job.property_id, job.at.date()) == client_id
    ]
    home_of = {bed.id: bed.property_id for bed in beds}
    codes = tuple(job.lot_code for job in jobs)
    loads = {
        load.id: load
        for load in unit.loads.all(firm_id, destination_id=bed_ids)
        if whose.on(home_of[load.destination_id], load.working_day) == client_id
    }
    loads |= {load.id: load for load in unit.loads.all(firm_id, lot_code=codes)}
    named = {client_id, *homes, *bed_ids, *(one.id for one in (*lawns, *jobs))}
    theirs = Theirs(
        client=client,
        properties=properties,
        lawns=lawns,
        beds=beds,
        treatments=unit.treatments.all(firm_id, lawn_id=tuple(one.id for one in lawns)),
        jobs=jobs,
        loads=list(loads.values()),
        hold_entries=unit.hold_entries.all(firm_id, load_id=tuple(loads)),
        delivery_notes=unit.delivery_notes.all(firm_id, client_id=client_id),
        recalls=[
            recall
            for recall in unit.recalls.all(firm_id)
            if named & {*recall.job_ids, *recall.bed_ids, *(one.lawn_id for one in recall.lawns)}
        ],
        api_keys=[key for key in unit.api_keys.all(firm_id) if key.client_id == client_id],
        erasures=unit.erasures.all(firm_id, client_id=client_id),
        changes=(),
    )
    own = {one.id for _, one in theirs.records()} - {recall.id for recall in theirs.recalls}
    at_home = {one: one for one in every_home} | home_of
    at_home |= {lawn.id: lawn.property_id for lawn in lawns}
    changes = _changes(unit, firm_id, own | {one.id for one in sold})
    return replace(
        theirs,
        # What was said of the land before it was theirs, or since, is somebody else's.
        changes=[
            _before_sale(row)
            for row in changes
            if row["record_id"] not in at_home
            or _whose_word(row, whose, at_home[row["record_id"]]) == str(client_id)
        ],
    )


def is_sale(changes: Mapping[str, Any]) -> bool:
    """Return whether a change gave a property another client: what was is the former one's."""
    said = changes.get("client_id")
    return isinstance(said, list | tuple) and said[1] is not None


def _whose_word(row: KeptRow, whose: ClientsThen, home: UUID) -> str:
    """Return whose a change of land, or of what is on it, tells."""
    if is_sale(row["changes"]):
        return str(row["changes"]["client_id"][0])
    return str(whose.on(home, row["at"].date()))


def _before_sale(row: KeptRow) -> KeptRow:
    if not is_sale(row["changes"]):
        return row
    kept = {name: [sides[0], None] for name, sides in row["changes"].items()}
    return {**row, "changes": kept}


def _sold_by(unit: UnitOfWork, firm_id: UUID, client_id: UUID) -> list[Property]:
    """Return the properties that were a client's, and are not."""
    naming = Wanted(table="amendments", words=[str(client_id)])
    ids = {
        row["record_id"]
        for row in unit.kept_texts.read(firm_id, naming, CHANGE)
        if row["record_kind"] == "properties" and "client_id" in row["changes"]
    }
    found = unit.properties.get_many(firm_id, sorted(ids)).values()
    return [one for one in found if one.client_id != client_id]


CHANGE: Final = ("id", "record_kind", "record_id", "at", "reason", "changes")


def _changes(unit: UnitOfWork, firm_id: UUID, named: set[UUID]) -> list[KeptRow]:
    """Return the histories of some records, and of what was theirs and is deleted."""
    found: dict[UUID, KeptRow] = {}
    fresh = named
    while fresh:
        own = Wanted(table="amendments", column="record_id", ids=fresh)
        found |= {row["id"]: row for row in unit.kept_texts.read(firm_id, own, CHANGE)}
        naming = Wanted(table="amendments", words=[str(one) for one in sorted(fresh)])
        # Deleted: nothing but its history tells whose it was.
        gone = [
            row
            for row in unit.kept_texts.read(firm_id, naming, CHANGE)
            if row["record_id"] not in named and _was_of(row["changes"], fresh)
        ]
        named = named | fresh
        fresh = {row["record_id"] for row in gone} - named
    return sorted(found.values(), key=lambda row: (row["at"], row["id"]))


def _was_of(changes: Mapping[str, Any], ids: set[UUID]) -> bool:
    """Return whether a record that was deleted named any of some ids."""
    said = (changes.get(name) for name in NAMED_BY)
    return any(
        isinstance(one, list) and one[1] is None and str(one[0]) in {str(each) for each in ids}
        for one in said
    )

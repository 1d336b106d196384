"""Erase a client: in one transaction, in every table, and leave who did it and why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final, cast
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.evidence.digests import digest_of
from service.core.evidence.recalls import Recall
from service.core.permission.consent import Consent, ConsentState
from service.core.personal.erasing import Person, searched, without_texts
from service.core.personal.erasures import AskedBy, Erasure
from service.core.personal.register import OF_CLIENTS, fates_of, searched_in
from service.core.places import Bed, Client, Property
from service.core.records import Identifiers, Record
from service.documents.facts.record import digest_of_kept
from service.usecases.base.ports.kept_texts import KeptRow, Wanted
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.staleness import mark_days_stale
from service.usecases.base.use_cases import Changing
from service.usecases.records.clients.finding import BOOKS, REASON, found_by
from service.usecases.records.clients.theirs import Theirs, is_sale, read_theirs
from service.usecases.records.clients.unfinished import refuse_unfinished

# What a paper's digest is made of, by its table.
DIGESTS: Final[Mapping[str, Callable[[Mapping[str, object]], str]]] = {
    "recalls": digest_of,
    "day_closings": digest_of,
    "delivery_notes": digest_of_kept,
}
AMENDMENTS: Final = "amendments"
RECALLS: Final = "recalls"
# In the rows of books, written through their repositories, nothing of the person is left to find.
NOT_SEARCHED: Final = frozenset({"folded_plans", *BOOKS})


@dataclass(frozen=True, slots=True, kw_only=True)
class ErasureAsked:
    """At whose word a client is erased, and why."""

    asked_by: AskedBy | None
    reason: str | None

    def faults(self) -> list[FieldFault]:
        """Return a fault for each that is left out."""
        detail = "Say at whose word a client is erased, and why: it is kept."
        said = {"/asked_by": self.asked_by, "/reason": self.reason}
        return [FieldFault(pointer=one, detail=detail) for one in said if not said[one]]


@dataclass(frozen=True, kw_only=True, eq=False)
class EraseClient(Changing):
    """Erase what is on record of a client, and keep what other law asks for without the person."""

    open_reading: OpenUnitOfWork

    def __call__(
        self,
        caller: Caller,
        client_id: UUID,
        asked: ErasureAsked,
        *,
        identifiers: Identifiers | None = None,
    ) -> Erasure:
        """Return that the client is erased; one that was erased before is so once.

        Raises
        ------
        RecordMissing, RecordNotUsable, ClientNotErasable
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            theirs = read_theirs(unit, caller.firm_id, client_id)
            if theirs.erasures:
                return theirs.erasures[0]
            if asked.asked_by is None or not asked.reason:
                raise RecordNotUsable(asked.faults())
            refuse_unfinished(unit, theirs)
            person = found_by(unit, theirs)
            digests = _Erasing(unit, theirs, person, now)()
            erasure = Erasure(
                id=(identifiers or self.identifiers).next_id(),
                firm_id=caller.firm_id,
                version=1,
                created_at=now,
                updated_at=now,
                client_id=client_id,
                erased_at=now,
                asked_by=asked.asked_by,
                # Whoever writes why may name whom.
                reason=searched(asked.reason, person),
                key_id=caller.key_id,
                digests=digests,
            )
            unit.erasures.add(erasure)
            mark_days_stale(unit, theirs.client, now)
            unit.commit()
        return erasure

    def read(self, caller: Caller, client_id: UUID) -> Erasure | None:
        """Return that a client was erased; None of one who was not. Raises RecordMissing."""
        with self.open_reading() as unit:
            theirs = read_theirs(unit, caller.firm_id, client_id)
        return theirs.erasures[0] if theirs.erasures else None


class _Erasing:
    """One erasure: books first, then every row that tells of the client."""

    def __init__(self, unit: UnitOfWork, theirs: Theirs, person: Person, now: datetime) -> None:
        self._unit, self._theirs, self._person, self._now = unit, theirs, person, now
        self._firm_id = theirs.client.firm_id
        self._digests: dict[str, str] = {}

    def __call__(self) -> dict[str, str]:
        """Erase; return the digests that papers had until then, by id."""
        self._end_what_acts()
        self._write_books()
        self._write_own_rows()
        self._write_histories()
        self._unit.kept_texts.forget_superseded_plans(self._firm_id)
        self._search_rows()
        return self._digests

    def _end_what_acts(self) -> None:
        """Revoke keys and end the links of notes."""
        unit, now = self._unit, self._now
        for key in self._theirs.api_keys:
            unit.api_keys.revoke(self._firm_id, key.id, now)
        for note in self._theirs.delivery_notes:
            if note.link_ended_at is None:
                ended = replace(note, link_ended_at=now).renewed(now)
                unit.delivery_notes.replace(ended, expected_version=note.version)

    def _write_books(self) -> None:
        for table, record in self._theirs.records():
            if table in BOOKS:
                bare: Any = without_texts(_ended(record, self._now), fates_of(table))
                self._unit.repository(table).replace(
                    bare.renewed(self._now), expected_version=record.version
                )

    def _write_own_rows(self) -> None:
        """Write over the texts of rows that are the client's alone, or were said of the client."""
        theirs = self._theirs
        named: dict[str, list[UUID]] = defaultdict(list)
        for table, record in theirs.records():
            if table not in BOOKS:
                named[table].append(record.id)
        for table, ids in named.items():
            if table != RECALLS:
                self._over(Wanted(table=table, ids=ids), fates_of(table))
        for recall in theirs.recalls:
            self._write_recall(recall)
        keys = [key.id for key in theirs.api_keys]
        self._over(Wanted(table="api_keys", ids=keys), fates_of("api_keys"))
        self._write_entries()

    def _write_recall(self, recall: Recall) -> None:
        """Write over why it was begun, and what was said in calls to the client; no others'."""
        numbers = self._theirs.numbers_in(recall)
        fates = {"reason": fates_of(RECALLS)["reason"]}
        words = {"said": fates_of(RECALLS)["calls.said"]}

        def bare(row: KeptRow) -> KeptRow:
            calls = [
                without_texts(call, words) if _number(call) in numbers else call
                for call in row["calls"]
            ]
            return cast(
                "KeptRow", without_texts({**row, "calls": type(row["calls"])(calls)}, fates)
            )

        self._rewrite(Wanted(table=RECALLS, ids=[recall.id]), bare)

    def _write_entries(self) -> None:
        """Write over why grass moved, also of what was said of others' in the same breath."""
        theirs, table = self._theirs, "mass_movements"
        lots = [one.id for one in (*theirs.jobs, *theirs.beds)]
        beds = [bed.id for bed in theirs.beds]
        fates = fates_of(table)
        said: set[tuple[datetime, str]] = set()
        for column, ids in {"lot_id": lots, "to_id": beds, "from_id": beds}.items():
            own = Wanted(table=table, column=column, ids=ids)
            for entry in self._unit.kept_texts.read(self._firm_id, own, ("created_at", "reason")):
                if entry["reason"]:
                    said.add((entry["created_at"], entry["reason"]))
            self._over(own, fates)
        if said:
            also = Wanted(table=table, words={reason for _, reason in said})
            self._unit.kept_texts.rewrite(
                self._firm_id,
                also,
                ("created_at", "reason"),
                lambda row: (
                    without_texts(row, fates) if (row["created_at"], row["reason"]) in said else row
                ),
            )

    def _over(self, wanted: Wanted, fates: Mapping[str, Any]) -> None:
        if wanted.ids:
            self._rewrite(wanted, lambda row: without_texts(row, fates))

    def _write_histories(self) -> None:
        own = Wanted(table=AMENDMENTS, ids=[change["id"] for change in self._theirs.changes])
        kinds = {change["id"]: change["record_kind"] for change in self._theirs.changes}

        def bare(row: KeptRow) -> KeptRow:
            fates = fates_of(kinds[row["id"]])
            # Of a property that was sold only what it was is the client's.
            sides_own = 1 if is_sale(row["changes"]) else 2
            changes = {
                name: [
                    without_texts({name: one}, fates)[name] if side < sides_own else one
                    for side, one in enumerate(sides)
                ]
                if isinstance(sides, list | tuple)
                else sides
                for name, sides in row["changes"].items()
            }
            told = {**row, "changes": searched(changes, self._person)}
            return cast("KeptRow", without_texts(told, REASON))

        if own.ids:
            columns = ("id", *searched_in(AMENDMENTS))
            self._unit.kept_texts.rewrite(self._firm_id, own, columns, bare)

    def _search_rows(self) -> None:
        """Look for the client in everything else that tells of many."""
        words = {*self._person.telling, *(str(one) for one in self._theirs.places)}
        for table in dict.fromkeys(line.table for line in OF_CLIENTS):
            if table not in NOT_SEARCHED:
                wanted = Wanted(table=table, words=words)
                self._rewrite(wanted, lambda row: searched(row, self._person))

    def _rewrite(self, wanted: Wanted, rewritten: Callable[[KeptRow], KeptRow]) -> None:
        digest = DIGESTS.get(wanted.table)
        columns = searched_in(wanted.table)
        if digest is None:
            self._unit.kept_texts.rewrite(self._firm_id, wanted, columns, rewritten)
            return

        def with_digest(row: KeptRow) -> KeptRow:
            told = dict(rewritten(row))
            if told["content"] != row["content"] and digest(row["content"]) == row["sha256"]:
                # The first is that of before; a paper that was not as kept does not become so.
                self._digests.setdefault(str(row["id"]), row["sha256"])
                told["sha256"] = digest(told["content"])
            return told

        paper = ("id", "sha256", *columns)
        self._unit.kept_texts.rewrite(self._firm_id, wanted, paper, with_digest)


def _ended(record: Record, now: datetime) -> Record:
    """Return a record of a book of which nothing acts any more."""
    if isinstance(record, Client | Property):
        return replace(record, erased_at=now)
    if isinstance(record, Bed):
        nobodys = Consent(state=ConsentState.WITHDRAWN)
        return replace(record, consent=nobodys, feeds_ended_at=now)
    return record


def _number(call: Any) -> int:  # noqa: ANN401 - a call, or how it stands in a row
    return int(call["number"] if isinstance(call, Mapping) else call.number)

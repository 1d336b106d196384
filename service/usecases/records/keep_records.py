"""Keep a firm's books: create, read, list, amend and delete records of one kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import MISSING, Field, dataclass, field, fields, replace
from datetime import datetime
from typing import Any, Generic
from uuid import UUID

from service.core.callers.access import Amendment, Caller, Own
from service.core.errors import (
    FieldFault,
    RecordExists,
    RecordInUse,
    RecordMissing,
    RecordNotUsable,
)
from service.core.records import AnyRecord, Identifiers
from service.usecases.base.batch_cache import missing_references
from service.usecases.base.calendar import DAY, with_days
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, Page, UnitOfWork
from service.usecases.base.registry import words_of
from service.usecases.base.use_cases import Changing
from service.usecases.records.amending import changed_fields, changes_of, write_over
from service.usecases.records.misplaced import misplaced_faults

AfterChange = Callable[[UnitOfWork, AnyRecord], None]
"""Called in the same transaction after a record was kept, amended or deleted."""

BesideOthers = Callable[[UnitOfWork, UUID, Any, datetime], Sequence[FieldFault]]
"""Called with the firm's id, a record's fields, None where not told, and how late a cut can be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf(Generic[AnyRecord]):
    """How one kind of record is kept.

    Attributes
    ----------
    record_type
        The frozen dataclass.
    repository
        Attribute of the unit of work.
    references
        Field that holds an id -> repository it must be found in.
    named_by
        (repository, field) that may still name this record.
    after_change
        What else must happen in the same transaction, such as making plans stale.
    own
        By whose a key is, the field that names them in this kind of record; a key of anybody else
        is refused it.
    private
        Fields with defaults that such a key is not shown: they tell of others.
    beside_others
        What is wrong with a record beside others, also with what can be read of one.
    """

    record_type: type[AnyRecord]
    repository: str
    references: Mapping[str, str] = field(default_factory=dict)
    named_by: tuple[tuple[str, str], ...] = ()
    after_change: AfterChange[AnyRecord] | None = None
    own: Mapping[Own, str] = field(default_factory=dict)
    private: tuple[str, ...] = ()
    beside_others: BesideOthers | None = None

    @property
    def kind(self) -> str:
        """The record's name in sentences, such as "compost site"."""
        return words_of(self.record_type)

    @property
    def reading(self) -> str:
        """What reading one is, where it is refused."""
        return f"read a {self.kind}"


@dataclass(frozen=True, kw_only=True, eq=False)
class KeepRecords(Changing, Generic[AnyRecord]):
    """Create, read, list, amend and delete records of one kind; readers wait for no writer."""

    shelf: Shelf[AnyRecord]
    open_reading: OpenUnitOfWork

    def create(
        self, caller: Caller, values: Mapping[str, Any], *, identifiers: Identifiers | None = None
    ) -> AnyRecord:
        """Keep a new record and return it.

        Raises
        ------
        RecordNotUsable
            If the values contradict themselves or name records the firm does not have.
        """
        with self.open_unit_of_work() as unit:
            record = self._entered(unit, caller, values, identifiers or self.identifiers)
            unit.commit()
        return record

    def read(self, caller: Caller, record_id: UUID) -> AnyRecord:
        """Return the record. Raises RecordMissing, also for another firm's."""
        with self.open_reading() as unit:
            return self._told(unit, caller, [self._find(unit, caller, record_id)])[0]

    def seen(self, caller: Caller, record: AnyRecord) -> AnyRecord:
        """Return a record as the caller may see it."""
        if caller.scope is None or not self.shelf.private:
            return record
        bare: dict[str, Any] = {
            one.name: default_of(one) for one in fields(record) if one.name in self.shelf.private
        }
        return replace(record, **bare)

    def page(
        self,
        caller: Caller,
        *,
        filters: Mapping[str, object],
        after: UUID | None = None,
        limit: int = 50,
        seen_by: UnitOfWork | None = None,
    ) -> Page[AnyRecord]:
        """Return a page of records, ordered by id, as a unit of work sees them or as of now.

        Raises
        ------
        NotAllowed
        """
        own = caller.own_field(self.shelf.own, what=self.shelf.reading)
        if own is not None and caller.scope is not None:
            if filters.get(own, caller.scope.id) != caller.scope.id:
                return Page(records=(), next_after=None)
            filters = {**filters, own: caller.scope.id}
        with self.open_reading() if seen_by is None else nullcontext(seen_by) as unit:
            found_by = filters
            if not hasattr(self.shelf.record_type, DAY):  # one that has a day is found by its own
                found_by = with_days(unit, caller.firm_id, filters, self.clock)
            page: Page[AnyRecord] = unit.repository(self.shelf.repository).page(
                caller.firm_id, filters=found_by, after=after, limit=limit
            )
            return replace(page, records=tuple(self._told(unit, caller, page.records)))

    def amend(
        self,
        caller: Caller,
        record_id: UUID,
        changes: Mapping[str, Any],
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> AnyRecord:
        """Write the changes as a new version and keep what the fields were before.

        Changes that change nothing make no version.

        Raises
        ------
        RecordMissing, VersionOvertaken, RecordNotUsable
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = self._find(unit, caller, record_id)
            new = replace(old, **changes, version=expected_version + 1, updated_at=now)
            new = self._completed(unit, new.following(old, changes.keys()))
            self._refuse_faults(unit, new, old)
            if old.version == expected_version and not changed_fields(old, new):
                return old
            self._before_amendment(unit, caller, old, new, reason)
            write_over(unit, self.shelf.repository, old, new, self.stamp(now, caller, reason))
            self._after_change(unit, new)
            unit.commit()
        return new

    def delete(
        self,
        caller: Caller,
        record_id: UUID,
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> None:
        """Delete a record nothing names any more.

        Raises
        ------
        RecordMissing, VersionOvertaken, RecordInUse
        """
        with self.open_unit_of_work() as unit:
            record = self._find(unit, caller, record_id)
            unit.repository(self.shelf.repository).replace(
                replace(record, version=expected_version + 1, updated_at=self.clock.now()),
                expected_version=expected_version,
            )
            for repository, field in self.shelf.named_by:
                count = unit.repository(repository).count(caller.firm_id, **{field: record_id})
                if count:
                    raise RecordInUse(
                        record=self.shelf.kind, count=count, by=repository.replace("_", " ")
                    )
            self._before_deletion(unit, caller, record, reason)
            unit.repository(self.shelf.repository).remove(caller.firm_id, record_id)
            self._after_change(unit, record)
            unit.commit()

    def history(self, caller: Caller, record_id: UUID) -> list[Amendment]:
        """Return the changes of a record, oldest first."""
        with self.open_reading() as unit:
            record = self._find(unit, caller, record_id)
            return changes_of(unit, caller.firm_id, record.id)

    def _entered(
        self,
        unit: UnitOfWork,
        caller: Caller,
        values: Mapping[str, Any],
        identifiers: Identifiers,
    ) -> AnyRecord:
        """Return a new record, entered with all that follows from it; whoever asks commits."""
        now = self.clock.now()
        record: AnyRecord = self.shelf.record_type(
            id=identifiers.next_id(),
            firm_id=caller.firm_id,
            version=1,
            created_at=now,
            updated_at=now,
            **values,
        )
        record = self._completed(unit, record)
        kept: AnyRecord | None = unit.repository(self.shelf.repository).get(
            caller.firm_id, record.id
        )
        if kept is not None:
            return self._same_or_refused(kept, record)
        self._refuse_faults(unit, record)
        unit.repository(self.shelf.repository).add(record)
        self._after_change(unit, record)
        return record

    def _told(
        self,
        unit: UnitOfWork,  # noqa: ARG002 - books that say more use it
        caller: Caller,
        records: Sequence[AnyRecord],
    ) -> list[AnyRecord]:
        """Return records as they are read."""
        return [self.seen(caller, record) for record in records]

    def _find(self, unit: UnitOfWork, caller: Caller, record_id: UUID) -> AnyRecord:
        record: AnyRecord | None = unit.repository(self.shelf.repository).get(
            caller.firm_id, record_id
        )
        if record is None or not caller.may_see(record, self.shelf.own, what=self.shelf.reading):
            raise RecordMissing(record=self.shelf.kind, id=record_id)
        return record

    def _same_or_refused(self, kept: AnyRecord, record: AnyRecord) -> AnyRecord:
        """Return what an earlier try of the same request kept, unless it says something else."""
        again = replace(record, created_at=kept.created_at, updated_at=kept.updated_at)
        if again != kept:
            raise RecordExists(record=self.shelf.kind, id=record.id)
        return kept

    def _refuse_faults(
        self, unit: UnitOfWork, record: AnyRecord, before: AnyRecord | None = None
    ) -> None:
        own = (
            record.faults()
            if before is None
            else [*record.faults_without(record.unasked(before)), *record.faults_after(before)]
        )
        faults = [
            *own,
            *missing_references(unit, record, self.shelf.references),
            *misplaced_faults(unit, self.shelf.repository, record, before),
            *self._further_faults(unit, record),
        ]
        if faults:
            raise RecordNotUsable(faults)

    def _completed(self, unit: UnitOfWork, record: AnyRecord) -> AnyRecord:  # noqa: ARG002 - books that say more use it
        """Return the record with what the service works out; nothing in most books."""
        return record

    def _further_faults(
        self,
        unit: UnitOfWork,  # noqa: ARG002 - books that say more use it
        record: AnyRecord,  # noqa: ARG002 - books that say more use it
    ) -> Sequence[FieldFault]:
        """Return what is wrong with a record beside others; nothing in most books."""
        return ()

    def _before_deletion(
        self, unit: UnitOfWork, caller: Caller, record: AnyRecord, reason: str | None
    ) -> None:
        """Refuse to delete what is still needed; nothing in most books."""

    def _before_amendment(
        self,
        unit: UnitOfWork,
        caller: Caller,
        old: AnyRecord,
        new: AnyRecord,
        reason: str | None,
    ) -> None:
        """Refuse to change what others rest on; nothing in most books."""

    def _after_change(self, unit: UnitOfWork, record: AnyRecord) -> None:
        if self.shelf.after_change is not None:
            self.shelf.after_change(unit, record)


def default_of(one: Field[Any]) -> object:
    """Return what a field holds where nothing is said."""
    return one.default_factory() if one.default_factory is not MISSING else one.default

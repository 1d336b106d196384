"""Begin a recall, work its list of calls off, end it: kept with times and a digest."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable, Refusal
from service.core.evidence.digests import digest_of, plain
from service.core.evidence.evidence import kept_as_evidence
from service.core.evidence.recalls import CallMade, Recall, RecalledLawn
from service.core.places import DestinationKind
from service.core.records import Clock, Identifiers
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, RenewNote, UnitOfWork
from service.usecases.mass_book.recall import TraceLots
from service.usecases.mass_book.settled import settle
from service.usecases.mass_book.wanted_lots import WantedLots


class NothingToRecall(Refusal):
    """A recall that would freeze nothing is none: who began it would think that something is."""

    code = "nothing_to_recall"
    sentence = (
        "Nothing that was cut, and no lawn of which later cuts would be kept back, is on record "
        "for this: nothing would be frozen.{hint}"
    )


class KeepRecalls:
    """Trace lots and freeze what can be frozen, until somebody ends it."""

    def __init__(
        self,
        *,
        open_unit_of_work: OpenUnitOfWork,
        open_reading: OpenUnitOfWork,
        clock: Clock,
        identifiers: Identifiers,
        trace_lots: TraceLots,
        renew_note: RenewNote,
    ) -> None:
        """Take the records, who traces lots, and who tells the holders of notes."""
        self._open = open_unit_of_work
        self._open_reading = open_reading
        self._clock = clock
        self._identifiers = identifiers
        self._trace_lots = trace_lots
        self._renew_note = renew_note

    def begin(
        self,
        caller: Caller,
        wanted: WantedLots,
        *,
        reason: str,
        identifiers: Identifiers | None = None,
    ) -> Recall:
        """Return the recall of some lots; their days are planned again around it.

        Raises
        ------
        RecordNotUsable, RecordMissing, NotOnRecord, NothingToRecall
        """
        now = self._clock.now()
        traced: Any = plain(self._trace_lots(caller, wanted))
        # Of days that are over nothing more will be cut; in the west it is still UTC's yesterday.
        goes_on = wanted.until is None or wanted.until >= (now - timedelta(days=1)).date()
        lawns = tuple(
            RecalledLawn(lawn_id=UUID(lawn["lawn_id"]), since=date.fromisoformat(lawn["since"]))
            for lawn in (traced["lawns"] if goes_on else ())
        )
        if not (traced["lots"] or lawns):
            raise NothingToRecall(number=len(traced["not_known"]), hint=_hint(traced))
        loads = {load["load_id"] for place in traced["places"] for load in place["loads"]}
        beds = {p["place_id"] for p in traced["places"] if p["kind"] == DestinationKind.BED}
        recall = Recall(
            **kept_as_evidence(
                traced, caller=caller, now=now, identifiers=identifiers or self._identifiers
            ),
            reason=reason,
            job_ids=tuple(UUID(lot["job_id"]) for lot in traced["lots"]),
            bed_ids=tuple(sorted(UUID(bed_id) for bed_id in beds)),
            load_ids=tuple(sorted(UUID(load_id) for load_id in loads)),
            lawns=lawns,
        )
        with self._open() as unit:
            kept = unit.recalls.get(caller.firm_id, recall.id)
            if kept is not None:
                return kept
            self._touch(unit, caller)
            unit.recalls.add(recall)
            self._tell(unit, recall)
            unit.commit()
        return recall

    def read(self, caller: Caller, recall_id: UUID) -> Recall:
        """Return a recall. Raises RecordMissing."""
        with self._open_reading() as unit:
            return _find(unit, caller, recall_id)

    def all(self, caller: Caller, *, is_open: bool | None = None) -> list[Recall]:
        """Return the firm's recalls, the newest first; those open or ended if that is asked."""
        with self._open_reading() as unit:
            found = unit.recalls.all(
                caller.firm_id, **({} if is_open is None else {"is_open": is_open})
            )
        return sorted(found, key=lambda recall: recall.created_at, reverse=True)

    def called(
        self, caller: Caller, recall_id: UUID, *, number: int | None, said: str | None
    ) -> Recall:
        """Tick that one of the list was called; called again it is another tick.

        Raises
        ------
        RecordMissing, RecordNotUsable
        """
        now = self._clock.now()
        with self._open() as unit:
            recall = _find(unit, caller, recall_id)
            if number is None:
                detail = "Say who of the list was called."
                raise RecordNotUsable([FieldFault(pointer="/number", detail=detail)])
            if number >= len(recall.people):
                raise RecordMissing(record="call", id=number)
            made = CallMade(number=number, at=now, key_id=caller.key_id, said=said)
            after = _next(recall, now, calls=(*recall.calls, made))
            unit.recalls.replace(after, expected_version=recall.version)
            unit.commit()
        return after

    def end(self, caller: Caller, recall_id: UUID) -> Recall:
        """End a recall: what was frozen is asked about like anything else. Raises RecordMissing."""
        now = self._clock.now()
        with self._open() as unit:
            recall = _find(unit, caller, recall_id)
            if not recall.is_open:
                return recall
            self._touch(unit, caller)
            after = _next(recall, now, is_open=False, ended_at=now)
            unit.recalls.replace(after, expected_version=recall.version)
            settle(unit, caller.firm_id, unit.loads.get_many(caller.firm_id, recall.load_ids))
            self._tell(unit, after)
            unit.commit()
        return after

    def evidence(self, caller: Caller, recall_id: UUID) -> dict[str, object]:
        """Return the file of a recall: trace, entries of the book, notes, calls, each with times.

        Raises
        ------
        RecordMissing
        """
        with self._open_reading() as unit:
            recall = _find(unit, caller, recall_id)
            entries = unit.mass_movements.of_lots(caller.firm_id, recall.job_ids)
            loads = recall.load_ids
            notes = unit.delivery_notes.all(caller.firm_id, load_id=loads) if loads else []
        file: dict[str, object] = {
            "recall_id": str(recall.id),
            "reason": recall.reason,
            "begun_at": plain(recall.created_at),
            "ended_at": plain(recall.ended_at),
            "trace": recall.content,
            "trace_sha256": recall.sha256,
            "movements": [
                plain(
                    {
                        "id": entry.id,
                        "cause": entry.cause.value,
                        "cause_id": entry.cause_id,
                        "lot_code": entry.lot_code,
                        "from": [entry.from_kind, entry.from_id],
                        "to": [entry.to_kind, entry.to_id],
                        "counted_kg": round(entry.counted_kg, 3),
                        "happened_at": entry.happened_at,
                        "entered_at": entry.created_at,
                        "key_id": entry.key_id,
                        "corrects_id": entry.corrects_id,
                    }
                )
                for entry in entries
            ],
            "notes": [
                plain(
                    {
                        "number": note.number,
                        "version": note.note_version,
                        "issued_at": note.issued_at,
                        "sha256": note.sha256,
                        "answer": None if note.answer is None else note.answer.value,
                    }
                )
                for note in notes
            ],
            "brought_since": [plain(asdict(one)) for one in recall.brought_since],
            "calls": [plain(vars_of(call)) for call in recall.calls],
        }
        return {**file, "sha256": digest_of(file)}

    def _tell(self, unit: UnitOfWork, recall: Recall) -> None:
        """Let the notes of recalled loads say that nothing of it is spread, or that it may be."""
        loads = unit.loads.get_many(recall.firm_id, recall.load_ids)
        for load_id in sorted(loads):
            self._renew_note(unit, loads[load_id])

    def _touch(self, unit: UnitOfWork, caller: Caller) -> None:
        """Count an event on every kept day from yesterday on: it is still today in the west."""
        since = self._clock.now().date() - timedelta(days=1)
        unit.working_days.bump(caller.firm_id, depot_id=None, from_day=since, to_day=None)


def _hint(traced: Any) -> str:  # noqa: ANN401 - a trace, JSON-ready
    """Return where else it may be, in words: what nobody knows is not clean."""
    lawns = sorted({f"{one['lawn']}, {one['property']}" for one in traced["not_known"]})
    if not lawns:
        return ""
    return (
        " Treatments whose active ingredients nobody named may be meant: find out, or recall their "
        f"lawns one by one ({'; '.join(lawns)})."
    )


def vars_of(call: CallMade) -> dict[str, object]:
    """Return what is kept of a call."""
    return {"number": call.number, "at": call.at, "key_id": call.key_id, "said": call.said}


def _next(recall: Recall, now: datetime, **changes: Any) -> Recall:  # noqa: ANN401 - fields of a recall
    return replace(recall, **changes).renewed(now)


def _find(unit: UnitOfWork, caller: Caller, recall_id: UUID) -> Recall:
    recall = unit.recalls.get(caller.firm_id, recall_id)
    if recall is None:
        raise RecordMissing(record="recall", id=recall_id)
    return recall

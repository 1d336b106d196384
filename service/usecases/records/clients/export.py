"""All that is on record of a client, to be handed out: nothing of anybody else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import time
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.evidence.digests import plain
from service.core.evidence.recalls import Recall
from service.core.loads import Load
from service.core.personal.register import OF_CLIENTS
from service.usecases.base.use_cases import Looking
from service.usecases.records.clients.theirs import Theirs, read_theirs

# Whose they are is plain, and digests of secrets are nobody's to read.
LEFT_OUT: Final = frozenset({"firm_id", "secret_sha256"})
# What came, when, and what was said of it; where else it might have gone tells of others.
OF_A_LOAD: Final = (
    "id",
    "working_day",
    "destination_kind",
    "state",
    "status",
    "mass_kg",
    "nitrogen_kg",
    "weighed_net",
    "weigh_ticket",
    "refusal_reason",
    "refused_share",
    "done_at",
)


class TellPersonalData(Looking):
    """Tells all that is kept of a client, as the records have it."""

    def __call__(self, caller: Caller, client_id: UUID) -> dict[str, object]:
        """Return it, JSON-ready, and what becomes of each text on erasure. Raises RecordMissing."""
        with self.open_reading() as unit:
            theirs = read_theirs(unit, caller.firm_id, client_id)
        books = {
            name: [told(one) for one in getattr(theirs, name)]
            for name in ("properties", "lawns", "beds", "treatments", "jobs", "delivery_notes")
        }
        return {
            "as_of": plain(self.clock.now()),
            "client": told(theirs.client),
            **books,
            "loads": [_load(one, theirs) for one in theirs.loads],
            "recalls": [_recall(one, theirs) for one in theirs.recalls],
            "keys": [told(one) for one in theirs.api_keys],
            "changes": [_plainly(change) for change in theirs.changes if _is_own(change, theirs)],
            "erasures": [told(one) for one in theirs.erasures],
            "on_erasure": [
                {"book": line.table, "field": line.field, "becomes": line.fate, "why": line.why}
                for line in OF_CLIENTS
            ],
        }


def told(record: object, names: Iterable[str] | None = None) -> dict[str, Any]:
    """Return a record's fields, JSON-ready."""
    kept: Any = record
    wanted = names or [one.name for one in fields(kept) if one.name not in LEFT_OUT]
    return {name: _plainly(getattr(kept, name)) for name in wanted}


def _plainly(value: Any) -> Any:  # noqa: ANN401 - whatever is kept
    if hasattr(value, "__dataclass_fields__"):
        return told(value)
    if isinstance(value, Mapping):
        return {str(name): _plainly(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plainly(one) for one in value]
    return value.isoformat() if isinstance(value, time) else plain(value)


def _load(load: Load, theirs: Theirs) -> dict[str, Any]:
    """Return a load to the client's, or what is the client's own in a load to elsewhere."""
    jobs = {job.id for job in theirs.jobs}
    is_here = load in theirs.brought
    names = OF_A_LOAD if is_here else [name for name in OF_A_LOAD if name != "refusal_reason"]
    return {
        **told(load, names),
        "destination_id": str(load.destination_id) if is_here else None,
        "lots": [
            {"lot_code": part.lot_code, "share": part.share, "own": part.job_id in jobs}
            for part in load.parts
            if is_here or part.job_id in jobs
        ],
    }


def _recall(recall: Recall, theirs: Theirs) -> dict[str, Any]:
    """Return what a recall says of the client, and of no other."""
    places = {str(one) for one in theirs.places}
    jobs = {str(job.id) for job in theirs.jobs}
    trace: Any = recall.content
    numbers = theirs.numbers_in(recall)
    return {
        "id": str(recall.id),
        "begun_at": plain(recall.created_at),
        "ended_at": plain(recall.ended_at),
        "reason": recall.reason,
        "lots": [_plainly(one) for one in trace.get("lots", ()) if str(one["job_id"]) in jobs],
        "places": [
            _plainly(one) for one in trace.get("places", ()) if str(one["place_id"]) in places
        ],
        "people": [_plainly(recall.people[number]) for number in numbers],
        "calls": [told(call) for call in recall.calls if call.number in numbers],
    }


def _is_own(change: Mapping[str, Any], theirs: Theirs) -> bool:
    """Return whether a change is of the client's own record; loads tell of others as well."""
    brought = {load.id for load in theirs.brought}
    return change["record_kind"] != "loads" or change["record_id"] in brought

"""Papers of the day amended by what happened to them: loads, and what is held."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from flask import Response

from service.api.exchange.amending import amendment_of
from service.api.exchange.completing import WithFurtherFaults, unreadable_in, with_others
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import ACCEPT_LANGUAGE, CONTENT_LANGUAGE, in_words
from service.api.exchange.routes import Routes
from service.api.failures.faults import LocatedFault
from service.api.records.kept import ETAG, kept_answer
from service.api.records.resource import Resource
from service.api.work.tip_warnings import told, told_schema
from service.core.callers.access import Act
from service.core.measures.estimates import exactly
from service.usecases.records.field.scope import TellTipped
from service.usecases.records.held.release_part import ReleasePart
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.update_hold import UpdateHold


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletingUpdate(WithFurtherFaults):
    """Adds to what cannot be read of an amendment what is wrong with the rest of it."""

    update: UpdateLoad | UpdateHold | ReleasePart

    def faults(
        self,
        asked: Asked,
        found: Sequence[LocatedFault],
        usable: Mapping[str, Any],
        path: Mapping[str, Any],
    ) -> list[LocatedFault]:
        """Return the faults found, and those that only the records can tell."""
        unreadable = unreadable_in(found)
        if unreadable is None or not usable:
            return list(found)
        more = self.update.faults(asked.caller, path["record_id"], usable, unreadable)
        return with_others(found, more)


def add_update(
    routes: Routes,
    resource: Resource,
    books: KeepRecords[Any],
    update: UpdateLoad | UpdateHold,
    door: Door,
    *,
    act: Act,
    example: Mapping[str, Any],
    tell_tipped: TellTipped | None = None,
) -> None:
    """Add the amendment of a paper by what happened; of a tip what is told of it at once."""
    answer = resource.answer if tell_tipped is None else told_schema(resource.answer)
    answers, whole = answer(), resource.new()

    @routes.operation(
        "PATCH",
        f"/{resource.path}/<uuid:record_id>",
        name=f"amend_{resource.one_word}",
        summary=f"Say what happened to one {resource.one}; the day is planned again around it.",
        may_answer=(409,),
        parameters=[] if tell_tipped is None else [ACCEPT_LANGUAGE],
    )
    @door.admits(act)
    @CompletingUpdate(update=update).around
    @routes.merge_patch(resource.changes, example=resource.changes_example)
    @routes.response(
        200,
        answers,
        example=example,
        headers=ETAG if tell_tipped is None else {**ETAG, **CONTENT_LANGUAGE},
    )
    def amend_record(asked: Asked, patch: dict[str, Any], record_id: UUID) -> Response:
        kept = books.read(asked.caller, record_id)
        amendment = amendment_of(patch, kept=kept, whole=whole, noun=resource.one)
        amended = update(
            asked.caller,
            record_id,
            amendment.changes,
            expected_version=amendment.expected_version,
            reason=amendment.reason,
        )
        seen = books.seen(asked.caller, amended)
        if tell_tipped is None:
            return kept_answer(answers, seen)
        beside = {"warnings": told(tell_tipped(asked.caller, record_id))}
        return in_words(kept_answer(answers, seen, beside=beside))


def estimates_of(mass_kg: float) -> dict[str, Any]:
    """Return mass and volume of an example."""
    basis = "weighed"
    return {
        "mass_kg": exactly(mass_kg, unit="kg", basis=basis),
        "volume_m3": exactly(mass_kg / 250, unit="m3", basis=basis),
    }

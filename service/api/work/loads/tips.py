"""Tips that no plan foresaw, told as they happened, also of days of the past."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, Final
from uuid import UUID

from flask import Response, request
from marshmallow import Schema, fields

from service.api.books.spans import LOAD_MASS
from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import ValueFields
from service.api.exchange.amending import CHANGE_REASON, reasoned
from service.api.exchange.bodies import read_json
from service.api.exchange.completing import WithFurtherFaults, unreadable_in, with_others
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import ACCEPT_LANGUAGE, CONTENT_LANGUAGE, in_words
from service.api.exchange.routes import Routes
from service.api.failures.faults import LocatedFault
from service.api.fields import Choice, Identifier, Moment, Number, Several, Text
from service.api.fields.quantities import MeasureField
from service.api.records.kept import CREATED, created_answer
from service.api.work.tip_warnings import told
from service.core.callers.access import Act
from service.core.places import DestinationKind
from service.core.reports import ReportedPart
from service.usecases.records.field.scope import TellTipped
from service.usecases.records.loads.record_tip import NewTip, RecordTip

MOST_PARTS: Final = 100
TIP_EXAMPLE: Final[dict[str, Any]] = {
    "vehicle_id": OTHER_ID,
    "destination_kind": "compost_site",
    "destination_id": OTHER_ID,
    "done_at": "2026-05-24T15:20:00+01:00",
    "parts": [{"job_id": OTHER_ID, "share": 0.5}],
}


class TippedPartFields(ValueFields):
    """How much of a job's clippings was tipped; all that was aboard if nothing is said."""

    record_type = ReportedPart

    job_id = Identifier()
    hold_entry_id = Identifier(metadata={"description": "Of what was loaded out of a bay."})
    share = Number(above=0, high=1, metadata={"description": "Of all the job's clippings."})
    mass = MeasureField(LOAD_MASS, beside="mass_kg", beside_unit="kg")


class NewTipFields(ValueFields):
    """A tip that no plan foresaw: where, when, and how much of which lots."""

    record_type = NewTip

    vehicle_id = Identifier()
    crew_id = Identifier()
    destination_kind = Choice(DestinationKind)
    destination_id = Identifier()
    done_at = Moment()
    parts = Several(fields.Nested(TippedPartFields), most=MOST_PARTS)
    weighed_net = MeasureField(LOAD_MASS, beside="weighed_net_kg", beside_unit="kg")
    weigh_ticket = Text(longest=100)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Completing(WithFurtherFaults):
    """Adds to what cannot be read of a tip what is wrong with the rest of it."""

    record_tip: RecordTip

    def faults(
        self,
        asked: Asked,
        found: Sequence[LocatedFault],
        usable: Mapping[str, Any],
        path: Mapping[str, Any],  # noqa: ARG002 - a tip that is told is no record yet
    ) -> list[LocatedFault]:
        """Return the faults found, and those that only the records can tell."""
        unreadable = unreadable_in(found)
        if unreadable is None:
            return list(found)
        said: dict[str, Any] = dict.fromkeys(NewTip.__dataclass_fields__)
        said |= {name: value for name, value in usable.items() if name in said}
        said["parts"] = tuple(_parts(read_json(request)))
        if unreadable & {"weighed_net", "weigh_ticket"}:
            said |= {"weighed_net": None, "weigh_ticket": None}
        more = self.record_tip.faults(asked.caller, SimpleNamespace(**said), unreadable)
        return with_others(found, more)


def _parts(sent: Mapping[str, Any]) -> Iterator[ReportedPart]:
    """Yield the parts of a body as it was sent, as far as their jobs can be read."""
    rows = sent.get("parts")
    for row in rows[:MOST_PARTS] if isinstance(rows, list) else ():
        try:
            entry_id = row.get("hold_entry_id")
            yield ReportedPart(
                job_id=UUID(row["job_id"]),
                hold_entry_id=None if entry_id is None else UUID(entry_id),
            )
        except (KeyError, TypeError, ValueError, AttributeError):
            return  # those behind it would have another number


def add_tips(
    routes: Routes,
    record_tip: RecordTip,
    tell_tipped: TellTipped,
    door: Door,
    *,
    answers: Schema,
    example: Mapping[str, Any],
) -> None:
    """Add the route by which a tip is reported that was not planned."""

    @routes.operation(
        "POST",
        "/loads",
        name="record_tip",
        summary="Record a tip that no plan foresaw, also of a day of the past.",
        may_answer=(409,),
        parameters=[CHANGE_REASON, ACCEPT_LANGUAGE],
    )
    @door.admits(Act.RECORD_WORK)
    @_Completing(record_tip=record_tip).around
    @reasoned
    @routes.body(NewTipFields, example=TIP_EXAMPLE)
    @routes.response(
        201,
        answers,
        example=Example(lambda: {**example, "plan_id": None}),
        headers={**CREATED, **CONTENT_LANGUAGE},
    )
    def record(asked: Asked, tip: NewTip, reason: str | None) -> Response:
        load = record_tip(asked.caller, tip, identifiers=asked.identifiers, reason=reason)
        beside = {"warnings": told(tell_tipped(asked.caller, load.id))}
        return in_words(created_answer(answers, load, path="loads", beside=beside))

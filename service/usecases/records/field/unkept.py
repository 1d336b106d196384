"""Tips that were refused: the office is told, and a weight that is of one lands on no other load.

Each is remembered by itself, beside the answers that are kept for a retry, and as long.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import Crew
from service.core.errors import RecordNotUsable, Refusal
from service.core.loads import Load
from service.core.records import Clock, Identifiers
from service.usecases.base.ports.kept_answers import KeptAnswer
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork

KEYS_BEGIN: Final = "tip not kept "
# What is told of one to the office, beside its vehicle, place and hour.
TICKET: Final = ("weigh_ticket", "weighed_net")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnkeptTip:
    """A tip that was refused: by whom and when it is said to have been, and why it was refused.

    ``refused_at`` is when; ``why`` is None of those that were remembered without it. ``tip_id`` is
    that of its report, or stands for one without a readable id.
    """

    tip_id: str
    vehicle_id: UUID
    destination_id: UUID | None
    at: datetime
    refused_at: datetime
    why: str | None = None
    ticket: str | None = None
    weighed_kg: float | None = None


def unkept_tips(unit: UnitOfWork, firm_id: UUID) -> list[UnkeptTip]:
    """Return the tips of a firm that were refused, and not kept since under the same id."""
    return [
        _read(one) for one in unit.answers.unfinished(firm_id, KEYS_BEGIN) if one.body is not None
    ]


def _read(kept: KeptAnswer) -> UnkeptTip:
    vehicle, place, at, *more = json.loads(kept.body or b"")
    why, ticket, kg = more or (None, None, None)
    return UnkeptTip(
        tip_id=kept.key.removeprefix(KEYS_BEGIN),
        vehicle_id=UUID(vehicle),
        destination_id=None if place is None else UUID(place),
        at=datetime.fromisoformat(at),
        refused_at=kept.started_at,
        why=why,
        ticket=ticket,
        weighed_kg=kg,
    )


class UnkeptTips:
    """Remember the tips that were refused until they are kept."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock, identifiers: Identifiers
    ) -> None:
        """Take what is needed."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers

    def add(self, caller: Caller, tip: Any, at: datetime, refusal: Refusal) -> None:  # noqa: ANN401 - a report, or what can be read of it
        """Remember a tip that was refused, by when it happened by our clock.

        One of which neither vehicle nor crew can be read could be anybody's: it is left out.
        """
        with self._open() as unit:
            load: Load | None = tip.load_id and unit.loads.get(caller.firm_id, tip.load_id)
            vehicle_id = _vehicle_of(unit, caller, tip, load)
            if vehicle_id is None:
                return
            place = tip.destination_id or (load and load.destination_id)
            told: list[Any] = [
                str(vehicle_id),
                None if place is None else str(place),
                at.isoformat(),
            ]
            # Of several without a readable id none takes the place of another.
            key = _key_of(tip.id or " ".join(map(str, told)))
            # What is said of it by now counts; it is never finished, for what is finished stays.
            unit.answers.forget(caller.firm_id, key)
            weighed = getattr(tip, "weighed_net", None)
            told += [
                _why(refusal),
                getattr(tip, "weigh_ticket", None),
                None if weighed is None else weighed.si_value,
            ]
            unit.answers.begin(
                KeptAnswer(
                    firm_id=caller.firm_id,
                    key=key,
                    request_sha256="",
                    seed_id=self._identifiers.next_id(),
                    started_at=self._clock.now(),
                    body=json.dumps(told).encode(),
                )
            )
            unit.commit()

    def drop(self, caller: Caller, tip_id: object) -> bool:
        """Forget a tip that is kept after all, or never was; return whether it was remembered."""
        with self._open() as unit:
            if unit.answers.get(caller.firm_id, _key_of(tip_id)) is None:
                return False
            unit.answers.forget(caller.firm_id, _key_of(tip_id))
            unit.commit()
        return True

    def is_any(
        self,
        caller: Caller,
        vehicle_id: UUID,
        destination_id: UUID,
        *,
        since: datetime,
        until: datetime,
    ) -> bool:
        """Return whether a tip of a vehicle at a place was refused, of (since, until]."""
        with self._open() as unit:
            known = unkept_tips(unit, caller.firm_id)
        return any(
            since < one.at <= until
            and one.vehicle_id == vehicle_id
            and one.destination_id in {None, destination_id}
            for one in known
        )


def _why(refusal: Refusal) -> str:
    """Return in words why a tip was refused: every fault of it."""
    if isinstance(refusal, RecordNotUsable):
        return " ".join(dict.fromkeys(fault.detail for fault in refusal.faults))
    return str(refusal)


def _vehicle_of(unit: UnitOfWork, caller: Caller, tip: Any, load: Load | None) -> UUID | None:  # noqa: ANN401 - as above
    vehicle_id: UUID | None = tip.vehicle_id
    if vehicle_id is None and load is not None:
        vehicle_id = load.vehicle_id
    if vehicle_id is None and tip.crew_id is not None:
        crew: Crew | None = unit.crews.get(caller.firm_id, tip.crew_id)
        vehicle_id = None if crew is None else crew.vehicle_id
    return vehicle_id


def _key_of(tip: object) -> str:
    return f"{KEYS_BEGIN}{tip}"

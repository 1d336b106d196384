"""Tips that were refused: a weight that is of one of them lands on no load that was tipped before.

Each is remembered by itself, beside the answers that are kept for a retry, and as long.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import Crew
from service.core.loads import Load
from service.core.records import Clock, Identifiers
from service.usecases.base.ports.kept_answers import KeptAnswer
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork

KEYS_BEGIN: Final = "tip not kept "


class UnkeptTips:
    """Remember the tips that were refused until they are kept."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock, identifiers: Identifiers
    ) -> None:
        """Take what is needed."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers

    def add(self, caller: Caller, tip: Any, at: datetime) -> None:  # noqa: ANN401 - a report, or what can be read of it
        """Remember a tip that was refused, by when it happened by our clock.

        One of which neither vehicle nor crew can be read could be anybody's: it is left out.
        """
        with self._open() as unit:
            load: Load | None = tip.load_id and unit.loads.get(caller.firm_id, tip.load_id)
            vehicle_id = _vehicle_of(unit, caller, tip, load)
            if vehicle_id is None:
                return
            place = tip.destination_id or (load and load.destination_id)
            told = [str(vehicle_id), None if place is None else str(place), at.isoformat()]
            # Of several without a readable id none takes the place of another.
            key = _key_of(tip.id or " ".join(map(str, told)))
            # What is said of it by now counts; it is never finished, for what is finished stays.
            unit.answers.forget(caller.firm_id, key)
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

    def drop(self, caller: Caller, tip: Any) -> None:  # noqa: ANN401 - as above
        """Forget a tip that is kept after all."""
        with self._open() as unit:
            if unit.answers.get(caller.firm_id, _key_of(tip.id)) is not None:
                unit.answers.forget(caller.firm_id, _key_of(tip.id))
                unit.commit()

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
            known = unit.answers.unfinished(caller.firm_id, KEYS_BEGIN)
        told = [json.loads(one.body) for one in known if one.body is not None]
        return any(
            since < datetime.fromisoformat(at) <= until
            and vehicle == str(vehicle_id)
            and place in {None, str(destination_id)}
            for vehicle, place, at in told
        )


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

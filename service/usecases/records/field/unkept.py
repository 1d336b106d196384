"""Tips that were refused: a weight that is of one of them lands on no load that was tipped before.

They are remembered by vehicle beside the answers that are kept for a retry, and as long.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import Crew
from service.core.loads import Load
from service.core.records import Clock, Identifiers
from service.usecases.base.idempotency import ANSWERS_LAST
from service.usecases.base.kept_answers import KeptAnswer
from service.usecases.base.ports import OpenUnitOfWork, UnitOfWork


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
            known = {
                report_id: told
                for report_id, told in _read(unit, caller, vehicle_id).items()
                if datetime.fromisoformat(told[0]) > self._clock.now() - ANSWERS_LAST
            }
            known[str(tip.id)] = [at.isoformat(), None if place is None else str(place)]
            self._write(unit, caller, vehicle_id, known)
            unit.commit()

    def drop(self, caller: Caller, tip: Any) -> None:  # noqa: ANN401 - as above
        """Forget a tip that is kept after all."""
        with self._open() as unit:
            load: Load | None = tip.load_id and unit.loads.get(caller.firm_id, tip.load_id)
            vehicle_id = _vehicle_of(unit, caller, tip, load)
            known = {} if vehicle_id is None else _read(unit, caller, vehicle_id)
            if vehicle_id is not None and known.pop(str(tip.id), None) is not None:
                self._write(unit, caller, vehicle_id, known)
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
            known = _read(unit, caller, vehicle_id)
        return any(
            since < datetime.fromisoformat(at) <= until and place in {None, str(destination_id)}
            for at, place in known.values()
        )

    def _write(
        self, unit: UnitOfWork, caller: Caller, vehicle_id: UUID, known: dict[str, Any]
    ) -> None:
        unit.answers.forget(caller.firm_id, _key_of(vehicle_id))
        if known:
            # Never finished: what is finished stays.
            unit.answers.begin(
                KeptAnswer(
                    firm_id=caller.firm_id,
                    key=_key_of(vehicle_id),
                    request_sha256="",
                    seed_id=self._identifiers.next_id(),
                    started_at=self._clock.now(),
                    body=json.dumps(known).encode(),
                )
            )


def _vehicle_of(unit: UnitOfWork, caller: Caller, tip: Any, load: Load | None) -> UUID | None:  # noqa: ANN401 - as above
    vehicle_id: UUID | None = tip.vehicle_id
    if vehicle_id is None and load is not None:
        vehicle_id = load.vehicle_id
    if vehicle_id is None and tip.crew_id is not None:
        crew: Crew | None = unit.crews.get(caller.firm_id, tip.crew_id)
        vehicle_id = None if crew is None else crew.vehicle_id
    return vehicle_id


def _read(unit: UnitOfWork, caller: Caller, vehicle_id: UUID) -> dict[str, Any]:
    kept = unit.answers.get(caller.firm_id, _key_of(vehicle_id))
    return {} if kept is None or kept.body is None else dict(json.loads(kept.body))


def _key_of(vehicle_id: UUID) -> str:
    return f"tips not kept of {vehicle_id}"

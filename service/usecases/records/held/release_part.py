"""Release a part of what waits in a hold bay to a place; the rest waits as before."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordMissing
from service.core.loads import HoldEntry, HoldState, Load, ReleasedAs
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind
from service.core.records import Identifiers
from service.rules.lookup import Rulebook
from service.usecases.base.staleness import mark_days_stale
from service.usecases.base.use_cases import Changing
from service.usecases.mass_book.keeping import book_load
from service.usecases.records.amending import amendment_of
from service.usecases.records.held.queue_states import StateNotReachable
from service.usecases.records.held.release import Release, released
from service.usecases.records.held.release_faults import NO_MASS, release_faults

# In the history of an entry: the load with which a part of it left.
PART_LOAD: Final = "part_load_id"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasedPart:
    """A part of a heap as it is told to have left: how much likely, where to, with what, when."""

    released_to_kind: DestinationKind | None = None
    released_to_id: UUID | None = None
    released_with_id: UUID | None = None
    mass: Measure | None = None
    released_at: datetime | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class ReleasePart(Changing):
    """Keep that a part of a hold entry went to a place, which is asked and charged."""

    rulebook: Rulebook

    def __call__(
        self,
        caller: Caller,
        entry_id: UUID,
        part: ReleasedPart,
        *,
        identifiers: Identifiers | None = None,
        expected_version: int | None = None,
        reason: str | None = None,
    ) -> Load:
        """Return the load that the place is charged with; what the entry says of the rest stays.

        What is left is the entry less its loads: its clock, its reasons and its status are those
        of the whole heap. Its version rises, for less lies there.

        Parameters
        ----------
        expected_version
            Of the entry that the part is of; any if left out.
        reason
            Why, in words. With one, a dispatcher or an owner sets advice aside.

        Raises
        ------
        RecordMissing, VersionOvertaken, StateNotReachable, RecordNotUsable, ReleaseRefused,
        MoreThanThereIs
        """
        now = self.clock.now()
        load_id = (identifiers or self.identifiers).next_id()
        with self.open_unit_of_work() as unit:
            kept: Load | None = unit.loads.get(caller.firm_id, load_id)
            if kept is not None:
                # A try of the same request kept it, and was cut off before it could say so.
                return kept
            entry: HoldEntry | None = unit.hold_entries.get(caller.firm_id, entry_id)
            if entry is None:
                raise RecordMissing(record="hold entry", id=entry_id)
            if entry.state is not HoldState.IN_BAY:
                wanted = HoldState.RELEASED.value
                raise StateNotReachable(state=entry.state.value, wanted=wanted)
            # The days first, as planning does: two orders would lock each other out.
            mark_days_stale(unit, entry, now)
            leaving = replace(
                entry,
                released_as=ReleasedAs.PLACE,
                released_to_kind=part.released_to_kind,
                released_to_id=part.released_to_id,
                released_with_id=part.released_with_id,
                released_at=part.released_at,
            )
            part_kg = 0.0 if part.mass is None else part.mass.si_value
            said = Release(entry=leaving, caller=caller, now=now, reason=reason, part_kg=part_kg)
            _, load = released(unit, said, rulebook=self.rulebook, identifiers=self.identifiers)
            assert load is not None  # noqa: S101 - what goes to a place is a load
            load = replace(load, id=load_id)
            unit.loads.add(load)
            less = replace(entry, version=(expected_version or entry.version) + 1, updated_at=now)
            unit.hold_entries.replace(less, expected_version=less.version - 1)
            stamp = self.stamp(now, caller, reason)
            went = amendment_of("hold_entries", entry, less, stamp)
            # No field of the entry is otherwise: what is left is it less its loads.
            part_went: dict[str, object] = {PART_LOAD: [None, str(load.id)]}
            unit.amendments.add(replace(went, changes={**went.changes, **part_went}))
            book_load(unit, load, stamp)
            unit.commit()
        return load

    def faults(
        self, caller: Caller, entry_id: UUID, said: Mapping[str, Any], unreadable: Collection[str]
    ) -> list[FieldFault]:
        """Return what else is wrong with a part of which some fields cannot be read.

        Raises
        ------
        RecordMissing
        """
        usable = {name: value for name, value in said.items() if name not in unreadable}
        has_mass = usable.pop("mass", None) is not None or "mass" in unreadable
        with self.open_unit_of_work() as unit:
            entry: HoldEntry | None = unit.hold_entries.get(caller.firm_id, entry_id)
            if entry is None:
                raise RecordMissing(record="hold entry", id=entry_id)
            leaving = replace(entry, **{**usable, "released_as": ReleasedAs.PLACE})
            found = release_faults(unit, leaving, now=self.clock.now())
        return found if has_mass else [*found, NO_MASS]

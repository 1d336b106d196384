"""Say everything that is wrong with a body at once: fields, names of nothing, contradictions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from typing import Any, Final

from service.api.exchange.documented import View
from service.api.exchange.door import Asked
from service.api.exchange.together import read_all, with_reads
from service.api.failures.faults import LocatedFault, Place, from_record
from service.api.failures.refusals import RequestNotUsable
from service.core.errors import FieldFault
from service.usecases.records.further_faults import FindFurtherFaults
from service.usecases.records.keep_records import Shelf

_UNKNOWN: Final = "unknown_field"


class WithFurtherFaults:
    """Adds to the faults a schema found those that only the records can tell."""

    def faults(
        self,
        asked: Asked,
        found: Sequence[LocatedFault],
        usable: Mapping[str, Any],
        path: Mapping[str, Any],
    ) -> list[LocatedFault]:
        """Return the faults found and the further ones, none of a field that is faulty already."""
        raise NotImplementedError

    def around(self, view: View) -> View:
        """Return the view; a body that is refused before it is refused with every fault."""

        def completed(asked: Asked, path: Mapping[str, Any], act: Callable[[], Any]) -> Any:
            try:
                return act()
            except RequestNotUsable as refusal:
                faults = self.faults(asked, refusal.faults, refusal.usable, path)
                raise RequestNotUsable(faults) from None

        @wraps(view)
        def enter(asked: Asked, **path: Any) -> Any:
            return completed(asked, path, lambda: view(asked, **path))

        return with_reads(
            enter, lambda asked, path: completed(asked, path, lambda: read_all(view, asked, path))
        )


def unreadable_in(found: Sequence[LocatedFault]) -> set[str] | None:
    """Return the fields of a body that cannot be read; None if nothing in it can."""
    in_body = [fault for fault in found if fault.place is Place.BODY]
    if any(not fault.where for fault in in_body):
        return None  # the body is no object
    # A field that there is not hides nothing of the record; within one that there is, it does.
    hidden = [fault for fault in in_body if fault.code != _UNKNOWN or fault.where.count("/") > 1]
    return {fault.where.split("/")[1] for fault in hidden}


def with_others(found: Sequence[LocatedFault], more: Iterable[FieldFault]) -> list[LocatedFault]:
    """Return the faults found and further ones, none of a field that is faulty already."""
    known = {fault.where for fault in found if fault.place is Place.BODY}
    return [*found, *(from_record(fault) for fault in more if fault.pointer not in known)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Completing(WithFurtherFaults):
    """Finds them for a record that is kept in books."""

    find: FindFurtherFaults
    shelf: Shelf[Any]

    def faults(
        self,
        asked: Asked,
        found: Sequence[LocatedFault],
        usable: Mapping[str, Any],
        path: Mapping[str, Any],
    ) -> list[LocatedFault]:
        """Return the faults found, and those of names, own and other records."""
        unreadable = unreadable_in(found)
        if unreadable is None:
            return list(found)
        more = self.find(
            asked.caller,
            usable,
            shelf=self.shelf,
            record_id=path.get("record_id"),
            unreadable=unreadable,
        )
        return [*found, *map(from_record, more)]

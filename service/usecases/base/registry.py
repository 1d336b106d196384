"""Every kind of record that is kept, in one list: the annotations of the unit of work.

Those of destinations come from their own table. Storage and whatever stands in for it follow.
"""

from __future__ import annotations

import re
from typing import Any, get_args, get_origin, get_type_hints

from service.core.records import Record
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import Repository, UnitOfWork


def kept_records() -> dict[str, type[Record]]:
    """Return the type of record of each repository, by its attribute of the unit of work."""
    found = {name: _record_in(hint) for name, hint in get_type_hints(UnitOfWork).items()}
    named = {name: record for name, record in found.items() if record is not None}
    return named | {kind.repository: kind.record for kind in KINDS.values()}


def words_of(record: type[Record]) -> str:
    """Return what a type of record is called in sentences: "vehicle outage"."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", record.__name__).lower()


def _record_in(hint: Any) -> type[Record] | None:  # noqa: ANN401 - any annotation
    """Return whose repository this is; None of what keeps no records of a firm."""
    if get_origin(hint) is Repository:
        (record,) = get_args(hint)
        return record  # type: ignore[no-any-return] # a repository is of a type of record
    bases = getattr(hint, "__orig_bases__", ())
    return next((record for base in bases if (record := _record_in(base)) is not None), None)

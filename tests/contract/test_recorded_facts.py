"""Every field that is kept is read somewhere, or its reason for being kept is written here."""

import dataclasses
import re
import typing
from pathlib import Path

import service
from service.storage import unit_of_work
from service.storage.mapping import RecordMapping
from service.usecases.base.destination_kinds import KINDS

READERS = ("destinations", "usecases", "documents", "agronomy", "pages", "planning")
TOP = Path(service.__file__).parent

# Kept for people to read in lists, and for nothing else.
FOR_PEOPLE = {
    ("Acknowledgement", "device_time"): "what the telephone's clock said, beside ours",
    ("Client", "email"): "people write to it",
    ("CompostSite", "terms_before"): "read within the record, by the terms of a day",
    ("CompostSite", "terms_from"): "read within the record, by the terms of a day",
    ("SiteTerms", "holds_from"): "read within the record, by the terms of a day",
    ("DeliveryNote", "replaces_id"): "leads from one version to the one before",
    ("HoldEntry", "release_condition_code"): "read by callers; the day asks anew",
    ("Job", "height_after"): "read through height_removed_mm, within the record",
    ("Job", "remarks"): "people read them",
    ("KillEvidence", "shown_on"): "read within the record, by whether it holds on a day",
    ("KillEvidence", "valid_until"): "read within the record, by whether it holds on a day",
    ("Treatment", "remarks"): "people read them",
    ("VehicleOutage", "remarks"): "people read them",
}
# A book is read as a list, row by row: nothing is decided from it.
BOOKS = {"MassMovement"}


def record_types():
    found = set()

    def look(kind):
        if dataclasses.is_dataclass(kind) and kind not in found:
            found.add(kind)
            for inner in typing.get_type_hints(kind).values():
                look(inner)
        for inner in typing.get_args(kind):
            look(inner)

    for kept in vars(unit_of_work).values():
        if isinstance(kept, RecordMapping):
            look(kept.record_type)
    for row in KINDS.values():
        look(row.record)
    return sorted(found, key=lambda kind: kind.__name__)


def unread(code):
    return {
        (kind.__name__, field.name)
        for kind in record_types()
        if kind.__name__ not in BOOKS
        for field in dataclasses.fields(kind)
        if not re.search(rf"\.{field.name}\b", code)
    }


def code_of_readers():
    return "\n".join(
        path.read_text(encoding="utf-8")
        for folder in READERS
        for path in (TOP / folder).rglob("*")
        if path.suffix in {".py", ".j2"}
    )


def test_a_recorded_fact_acts_or_says_here_why_it_is_kept():
    assert unread(code_of_readers()) <= set(FOR_PEOPLE)


def test_a_field_that_nobody_reads_is_found():
    code = code_of_readers().replace(".ground_state_at", "")
    assert ("Bed", "ground_state_at") in unread(code)

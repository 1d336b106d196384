"""Every stored text is on the register of what is a client's, or it says there whose it is."""

import dataclasses
import typing
from enum import StrEnum

from sqlalchemy import LargeBinary, Text

from service.core.measures.quantities import Measure
from service.core.personal.register import OF_CLIENTS, OF_OTHERS, Fate, fates_of
from service.core.places import Point
from service.storage.columns import JsonValue
from service.storage.tables import METADATA
from service.storage.unit_of_work import RECORDS

DIRECTORY = {"firms", "api_keys", "sessions", "amendments", "answers"}
FREE = (dict, object, typing.Any)


def texts_in(hint):
    """Yield where in a value of an annotation texts stand: '' where it is one itself."""
    arguments = typing.get_args(hint)
    if hint in (str, bytes) or hint in FREE or typing.get_origin(hint) is dict:
        yield ""
    elif isinstance(hint, type) and issubclass(hint, StrEnum):
        return
    elif dataclasses.is_dataclass(hint) and hint is not Measure:
        for name, inner in typing.get_type_hints(hint).items():
            yield from (f".{name}{deeper}" for deeper in texts_in(inner))
    for one in arguments if typing.get_origin(hint) is not dict else ():
        yield from texts_in(one)


def stored_texts():
    """Return every stored text: of records by their annotations, of other tables by columns."""
    found = set()
    for table in METADATA.sorted_tables:
        mapping = RECORDS.get(table.name)
        if mapping is not None:
            hints = typing.get_type_hints(mapping.record_type)
            found |= {f"{table.name}.{n}{d}" for n, hint in hints.items() for d in texts_in(hint)}
        else:
            kinds = (Text, LargeBinary, type(JsonValue))
            texts = (c.name for c in table.columns if isinstance(c.type, kinds))
            found |= {f"{table.name}.{name}" for name in texts}
    return found


def stored_points():
    return {
        f"{name}.{field}"
        for name, mapping in RECORDS.items()
        for field, hint in typing.get_type_hints(mapping.record_type).items()
        if Point in (hint, *typing.get_args(hint))
    }


LINES = {f"{line.table}.{line.field}" for line in OF_CLIENTS}


def is_told(text, lines):
    """Return whether a text is on a list, or something that holds it is."""
    parts = text.split(".")
    return any(".".join(parts[:length]) in lines for length in range(1, len(parts) + 1))


def test_every_stored_text_and_point_is_a_clients_or_says_whose_it_is():
    told = LINES | set(OF_OTHERS)
    assert {one for one in stored_texts() | stored_points() if not is_told(one, told)} == set()


def test_a_text_that_nobody_put_on_the_register_is_found():
    told = (LINES | set(OF_OTHERS)) - {"jobs.remarks", "beds.legal_basis.reference"}
    found = {one for one in stored_texts() if not is_told(one, told)}
    assert found == {"jobs.remarks", "beds.legal_basis.reference"}


def test_the_register_tells_of_nothing_that_is_not_stored():
    tables = {table.name for table in METADATA.sorted_tables}
    columns = {f"{t.name}.{c.name}" for t in METADATA.sorted_tables for c in t.columns}
    stored = stored_texts() | stored_points() | columns | tables
    assert {
        line
        for line in LINES | set(OF_OTHERS)
        if not any(is_told(line, {one}) or is_told(one, {line}) for one in stored if "." in one)
    } == set()


def test_what_stays_of_a_client_says_why():
    assert [line for line in OF_CLIENTS if line.fate is Fate.KEPT and not line.why] == []


def test_no_text_has_two_fates():
    assert len(LINES) == len(OF_CLIENTS)
    assert LINES & set(OF_OTHERS) == set()
    assert fates_of("jobs")["remarks"] is Fate.EMPTIED

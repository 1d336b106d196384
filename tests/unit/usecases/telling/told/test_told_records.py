"""What is told is described once: by the records it is told in."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Literal, get_type_hints
from uuid import UUID

import pytest

from service.api.work.derived import shape_of
from service.core.loads import LoadState
from service.usecases.day.told_routing import LOAD_HELD, PICK_UP
from service.usecases.telling.told.forms import NEWER, Longitude, Range, plain
from service.usecases.telling.told.stops import LoadHeldStop, PickUpStop


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    kind: Literal["told"] = "told"
    id: UUID
    at: datetime
    state: LoadState
    mass_kg: Range
    codes: tuple[str, ...]
    longitude: Longitude
    until: datetime | None
    inside: Range | None = field(metadata=NEWER)


def test_a_shape_says_what_the_annotations_say():
    shape = shape_of(Told, title="Something told")
    amount = {"type": "number", "minimum": 0}
    assert shape["title"] == "Something told"
    assert shape["required"] == [name for name in get_type_hints(Told) if name != "inside"]
    members = shape["properties"]
    assert members["kind"] == {"const": "told"}
    assert members["id"] == {"type": "string", "format": "uuid"}
    assert members["state"]["enum"] == [state.value for state in LoadState]
    assert members["mass_kg"]["properties"] == {"low": amount, "likely": amount, "high": amount}
    assert members["codes"] == {"type": "array", "items": {"type": "string"}}
    assert members["longitude"] == {"type": "number", "minimum": -180, "maximum": 180}
    assert members["until"] == {"type": ["string", "null"], "format": "date-time"}
    assert members["inside"] == {"anyOf": [members["mass_kg"], {"type": "null"}]}


def test_an_annotation_that_nobody_knows_is_refused_at_start():
    @dataclass(frozen=True)
    class Strange:
        member: bytes

    with pytest.raises(TypeError, match="no shape"):
        shape_of(Strange)


def test_a_told_record_is_plain_json_and_keeps_the_offset_of_its_moments():
    told = Told(
        id=UUID(int=7),
        at=datetime(2026, 5, 24, 13, 5, tzinfo=UTC),
        state=LoadState.PLANNED,
        mass_kg=Range(low=1, likely=2, high=3),
        codes=("L-1",),
        longitude=-0.5,
        until=None,
        inside=None,
    )
    assert plain(told) == {
        "kind": "told",
        "id": "00000000-0000-0000-0000-000000000007",
        "at": "2026-05-24T13:05:00+00:00",
        "state": "planned",
        "mass_kg": {"low": 1, "likely": 2, "high": 3},
        "codes": ["L-1"],
        "longitude": -0.5,
        "until": None,
        "inside": None,
    }


def test_stops_are_called_what_the_planned_day_calls_them():
    assert PickUpStop.__dataclass_fields__["kind"].default == PICK_UP
    assert LoadHeldStop.__dataclass_fields__["kind"].default == LOAD_HELD

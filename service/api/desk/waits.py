"""Questions about what must be waited for, carried and killed."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import fields, post_load

from service.api.books.spans import LOAD_VOLUME
from service.api.contract.schemas import Described
from service.api.desk.questions import Question
from service.api.fields import Choice, Flag, Integer, Number, Several, Text
from service.api.fields.quantities import MeasureField
from service.core.materials import Wetness
from service.usecases.compute import waits

MOST_READINGS: Final = 5000
LONGEST_WAIT_DAYS: Final = 3650


class TreatmentWaitQuestion(Question):
    """A product on a lawn, what has passed since, and what its label says."""

    computation = staticmethod(waits.treatment_wait)

    product = Text(longest=200)
    active_ingredients = Several(
        Text(longest=100),
        most=20,
        unique=True,
        metadata={"description": "By ISO common name or CAS number; none means unknown."},
    )
    days_since = Integer(low=0, high=LONGEST_WAIT_DAYS)
    mowings_since = Integer(low=0, high=1000)
    label_days = Integer(low=0, high=LONGEST_WAIT_DAYS)
    label_mowings = Integer(low=0, high=100)
    label_leave_on_lawn_mowings = Integer(
        low=1,
        high=100,
        metadata={"description": "Mowings whose clippings the label keeps on the treated lawn."},
    )
    label_never = Flag(metadata={"description": "The label wants clippings left on the lawn."})


class VehicleRoomQuestion(Question):
    """A vehicle and what is aboard, at its high end."""

    computation = staticmethod(waits.vehicle_room)

    body_volume_m3 = Number(above=0, high=120)
    body_volume = MeasureField(LOAD_VOLUME, beside="body_volume_m3", beside_unit="m3")
    payload_kg = Number(above=0, high=40_000)
    gross_limit_kg = Number(above=0, high=80_000)
    tare_kg = Number(above=0, high=80_000)
    aboard_mass_kg = Number(low=0, high=40_000)
    aboard_volume_m3 = Number(low=0, high=120)
    wetness = Choice(Wetness)


class ReadingFields(Described):
    """One reading of the coolest place."""

    hour = Number(low=0, high=100_000, required=True)
    temperature_c = Number(low=-40, high=120, required=True)

    @post_load
    def build(self, data: dict[str, Any], **_: Any) -> tuple[float, float]:
        """Return hour and temperature."""
        return data["hour"], data["temperature_c"]


def _word(about: str) -> Text:
    return Text(
        longest=60,
        pattern="[a-z][a-z0-9_]*",
        allowed="a word of the rule kill_hours_min; GET /rules/kill_hours_min lists them",
        metadata={"description": about},
    )


class KillQuestion(Question):
    """A process and the readings taken of it."""

    computation = staticmethod(waits.kill)

    standard = _word("Whose requirement, such as pas_100.")
    process = _word("How it composts, such as windrow or in_vessel.")
    readings = Several(
        fields.Nested(ReadingFields),
        most=MOST_READINGS,
        metadata={"description": "Of the coolest place, the hours increasing."},
    )
    turnings = Integer(low=0, high=10_000)

"""Crews and vehicles."""

from __future__ import annotations

from typing import Final

from service.api.examples import OTHER_ID
from service.api.fields import Choice, Identifier, Number, Text
from service.api.resource import Resource
from service.api.schemas import RecordFields
from service.core.crews import Crew, Vehicle
from service.usecases.languages import NOTE_LANGUAGES


class CrewFields(RecordFields):
    """A crew, its depot and the vehicle it usually drives."""

    record_type = Crew

    depot_id = Identifier()
    name = Text(longest=100)
    lead = Text(longest=100)
    phone = Text(longest=40)
    vehicle_id = Identifier(metadata={"description": "The vehicle it usually drives."})
    language = Choice(NOTE_LANGUAGES)


class VehicleFields(RecordFields):
    """A vehicle: what it may weigh and what its body holds."""

    record_type = Vehicle

    # Ceilings catch typing errors: the heaviest road train is far below (common practice).
    depot_id = Identifier()
    registration = Text(longest=20)
    name = Text(longest=100)
    payload_kg = Number(above=0, high=40_000)
    body_volume_m3 = Number(above=0, high=120)
    gross_limit_kg = Number(above=0, high=80_000)
    tare_kg = Number(above=0, high=40_000)


CREWS: Final = Resource(
    path="crews",
    one="crew",
    many="crews",
    about="Crews, their depot and the vehicle they usually drive.",
    fields=CrewFields,
    filters={"depot_id": Identifier(), "vehicle_id": Identifier()},
    example={"depot_id": OTHER_ID, "name": "Crew 3", "lead": "A. Nowak", "language": "pl"},
    changes_example={"lead": "B. Reyes", "language": "es"},
)

VEHICLES: Final = Resource(
    path="vehicles",
    one="vehicle",
    many="vehicles",
    about="Vehicles: what they may weigh and what their body holds.",
    fields=VehicleFields,
    filters={"depot_id": Identifier()},
    example={
        "depot_id": OTHER_ID,
        "registration": "AB12 CDE",
        "payload_kg": 1200,
        "body_volume_m3": 6.5,
        "gross_limit_kg": 3500,
        "tare_kg": 2150,
    },
    changes_example={"payload_kg": 1150},
)

"""Crews and vehicles."""

from __future__ import annotations

from datetime import date
from typing import Final

from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import Answered, RecordFields
from service.api.fields import Choice, Day, Identifier, Moment, Number, Text
from service.api.fields.quantities import PointField
from service.api.records.resource import Resource
from service.core.callers.access import Act
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.documents.rendering.language import LANGUAGES


class CrewFields(RecordFields):
    """A crew, its depot and the vehicle it usually drives."""

    record_type = Crew

    depot_id = Identifier()
    name = Text(longest=100)
    lead = Text(longest=100)
    phone = Text(longest=40)
    vehicle_id = Identifier(metadata={"description": "The vehicle it usually drives."})
    language = Choice(LANGUAGES)
    used_until = Day(
        metadata={
            "description": "Its last day with the firm; null: it is there. No job of a later day "
            "names it (422)."
        }
    )


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
    used_until = Day(
        metadata={
            "description": "Its last day of use, once it is sold or gone; null: it is used. On "
            "later days it is in no plan, and no job names it (422)."
        }
    )
    parked_point = PointField(
        metadata={
            "description": "Where it was left at `parked_at`, if not in its yard: it starts there "
            "by the plan until a job, a tip or a loading of later is on record."
        }
    )
    parked_at = Moment(
        metadata={
            "description": "When it was left there; of before noon of the day before, no more."
        }
    )


class VehicleOutageFields(RecordFields):
    """A vehicle that is out from a moment on: broken down, or in the workshop."""

    record_type = VehicleOutage

    vehicle_id = Identifier()
    out_since = Moment(
        metadata={
            "description": (
                "From when on it does nothing more. If that is past, others take over "
                "all that it has not done and what it has aboard; if it is ahead, the jobs "
                "planned for then or later."
            )
        }
    )
    back_at = Moment(
        metadata={
            "description": (
                "When it works again; null: nobody knows yet. With an hour of the same day the "
                "vehicle keeps its jobs and its load, and waits; until another day it does nothing "
                "more on this one; nor does it with an hour after the end of its depot's shift. "
                "While it is null the vehicle is planned with nothing on the days after, and asked "
                "about (decision `vehicle_still_out`), until somebody says when it was back, or it "
                "mowed or tipped after out_since."
            )
        }
    )
    reason = Text(longest=200, metadata={"description": "Told in the day's routing."})
    point = PointField(
        metadata={"description": "Where it stands, if not where the day's records had it last."}
    )
    remarks = Text(longest=2000, breaks=True)


class VehicleOutageAnswer(Answered):
    """What the service works out of a record that a vehicle is out."""

    day = Day(metadata={"description": "The depot's day of out_since; the record is about it."})


CREWS: Final = Resource(
    path="crews",
    one="crew",
    many="crews",
    about="Crews, their depot and the vehicle they usually drive.",
    fields=CrewFields,
    filters={"depot_id": Identifier(), "vehicle_id": Identifier()},
    example={"depot_id": OTHER_ID, "name": "Crew 3", "lead": "A. Nowak", "language": "pl"},
    changes_example={"lead": "B. Reyes", "language": "es"},
    amending_may_answer=(409,),
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
    amending_may_answer=(409,),
)

VEHICLE_OUTAGES: Final = Resource(
    path="vehicle-outages",
    one="vehicle outage",
    many="vehicle outages",
    about=(
        "Vehicles that are out: what they have not done, and what they have aboard, goes to other "
        "vehicles of the depot in the day's routing. That is a proposal: jobs and their crews stay "
        "as they are recorded until somebody amends `vehicle_id` and `crew_id` of a job. Amend "
        "`back_at` when the vehicle works again; delete a record that was a mistake."
    ),
    fields=VehicleOutageFields,
    answered=(VehicleOutageAnswer,),
    filters={"vehicle_id": Identifier(), "day": Day()},
    example={
        "vehicle_id": OTHER_ID,
        "out_since": "2026-05-24T09:40:00Z",
        "reason": "Clutch gone.",
        "point": {"type": "Point", "coordinates": [-1.27, 51.76]},
    },
    changes_example={"back_at": "2026-05-24T12:00:00Z"},
    worked_out={"day": date(2026, 5, 24)},
    act=Act.PLAN,
)

"""Clients, their properties, lawns and beds."""

from __future__ import annotations

from typing import Final

from marshmallow import fields

from service.api.books.hours import closed_on_field, hours_field
from service.api.books.spans import BED_AREA, LAWN_AREA
from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import Answered, RecordFields, ValueFields
from service.api.fields import Choice, Day, Flag, Identifier, Moment, Number, Several, Text
from service.api.fields.quantities import MeasureField, PointField
from service.api.records.resource import Resource
from service.core.callers.access import Act
from service.core.materials import GrassKind
from service.core.permission.consent import Consent, ConsentState
from service.core.permission.legal_basis import Exemption, GroundKind, LegalBasis, LegalBasisKind
from service.core.personal.erasures import ClientState
from service.core.places import (
    Animals,
    Bed,
    Client,
    DisplayUnits,
    Drainage,
    GroundState,
    Lawn,
    OpeningBalance,
    Property,
)
from service.documents.rendering.language import LANGUAGES


class ClientFields(RecordFields):
    """Somebody whose lawns are mown and who may take clippings."""

    record_type = Client

    name = Text(longest=200)
    phone = Text(longest=40)
    email = Text(longest=254, pattern=r"[^@\s]+@[^@\s]+", allowed="an e-mail address")
    address = Text(longest=500, breaks=True)
    language = Choice(LANGUAGES)
    display_units = Choice(DisplayUnits)


class PropertyFields(RecordFields):
    """A client's piece of land."""

    record_type = Property

    client_id = Identifier()
    name = Text(longest=200)
    address = Text(longest=500, breaks=True)
    locality = Text(
        longest=100, metadata={"description": "All that other clients ever learn of the place."}
    )
    point = PointField()
    access_notes = Text(longest=1000, breaks=True)
    may_sign = Text(longest=200, metadata={"description": "Who may sign for a delivery."})


class LawnFields(RecordFields):
    """A lawn on a property."""

    record_type = Lawn

    property_id = Identifier()
    name = Text(longest=200)
    area = MeasureField(LAWN_AREA, beside="area_m2", beside_unit="m2")
    grass_kind = Choice(GrassKind)
    mowing_hours = hours_field(
        "When this lawn may be mown, by the depot's clock, as the firm recorded it: the client's "
        "wish, or a rule of the place about noise. None: at any time. `last_load` is when mowing "
        "begins at the latest."
    )


class ConsentFields(ValueFields):
    """A client's standing consent for one bed."""

    record_type = Consent

    state = Choice(ConsentState)
    given_on = Day()
    expires_on = Day(metadata={"description": "The last day it holds."})
    mass_per_visit_max_kg = Number(above=0, high=40_000)
    mass_per_visit_min_kg = Number(
        above=0,
        high=40_000,
        metadata={
            "description": (
                "No visit for less: at the likely mass of the load, where the most is kept at the "
                "high end. A plan counts every load of a vehicle as no surer than its least sure "
                "lot of the day, so it may keep back what a release by hand brings. Null: any "
                "amount."
            )
        },
    )
    mass_per_month_max_kg = Number(
        above=0,
        high=1_000_000,
        metadata={
            "description": (
                "No more in any month: on a day and the 30 before it, at the high end, or as "
                "weighed. Null: no such word."
            )
        },
    )


class LegalBasisFields(ValueFields):
    """On what ground clippings may be spread on a bed."""

    record_type = LegalBasis

    kind = Choice(LegalBasisKind)
    exemption = Choice(
        Exemption,
        metadata={
            "description": (
                "Which registered exemption, by its name in England and Wales; elsewhere it opens "
                "no bed. The limits of one do not bind another; null: it is not known which law "
                "binds."
            )
        },
    )
    reference = Text(longest=100)
    expires_on = Day(metadata={"description": "The last day it holds."})


class OpeningBalanceFields(ValueFields):
    """What was laid on a bed before the service knew of it."""

    record_type = OpeningBalance

    mass_kg = Number(low=0, high=100_000)
    nitrogen_kg = Number(low=0, high=5_000)
    laid_on = Day(metadata={"description": "The day of the last layer; all counts as of it."})
    stated_by = Text(longest=200)


class BedFields(RecordFields):
    """A bed that may take a thin layer of clippings."""

    record_type = Bed

    property_id = Identifier()
    name = Text(longest=200)
    area = MeasureField(BED_AREA, beside="area_m2", beside_unit="m2")
    drainage = Choice(Drainage)
    ground_state = Choice(GroundState)
    ground_state_at = Moment(metadata={"description": "When the ground was looked at."})
    edible = Flag(metadata={"description": "Whether food grows in it."})
    organic_certified = Flag()
    water_distance_m = Number(
        low=0, high=100_000, metadata={"description": "To the nearest water; null if unknown."}
    )
    well_distance_m = Number(
        low=0, high=100_000, metadata={"description": "To the nearest well; null if unknown."}
    )
    water_protection_zone = Flag(
        allow_none=True,
        metadata={
            "description": "Whether it lies in a zone that protects drinking water: nothing is "
            "planned to it by advice until `legal_basis` is a permit, which is where the word of "
            "the authority is kept. Null: nobody has looked, and nothing follows."
        },
    )
    animals = Several(
        Choice(Animals), most=4, unique=True, metadata={"description": "Animals that reach it."}
    )
    animals_beside = Several(
        Choice(Animals),
        most=4,
        unique=True,
        metadata={
            "description": (
                "Animals on the ground next to it, a neighbour's too; null if nobody looked: then "
                "whoever lays there is told to look first, and verdicts say so."
            )
        },
    )
    grazing_fenced = Flag(
        metadata={
            "description": (
                "Whether a fence keeps horses and other grazing animals from all that lies on the "
                "bed; null if nobody looked. Without one, nothing is laid where they are."
            )
        }
    )
    slope_percent = Number(low=0, high=200)
    sensitive_plants = Text(longest=500, breaks=True)
    near_drain_or_paving = Flag(
        metadata={"description": "Whether loose grass can reach a drain, a road or paving."}
    )
    point = PointField(metadata={"description": "Where it is, if not at the property's point."})
    consent = fields.Nested(ConsentFields)
    legal_basis = fields.Nested(LegalBasisFields)
    where_to_lay = Text(longest=500, breaks=True)
    feeds_ended_at = Moment(
        metadata={
            "description": "Addresses of its calendar that were made before open nothing. Not "
            "after now, and never taken back."
        }
    )
    opening_balance = fields.Nested(
        OpeningBalanceFields,
        metadata={"description": "What lay there, or was applied, before this service; or null."},
    )
    ground_kind = Choice(
        GroundKind,
        metadata={"description": "What ground it is to the law; null if nobody has said."},
    )
    hours = hours_field(
        "When the client wants deliveries, by the depot's clock; none: at any time."
    )
    closed_on = closed_on_field()


class ClientFacts(Answered):
    """What the service says of a client."""

    state = Choice(
        ClientState,
        metadata={
            "description": "`erased`: what was kept of the person is gone, and nothing more is "
            "recorded of them. What other law asks for stays, without the person."
        },
    )
    erased_at = Moment(allow_none=True)


class PropertyFacts(Answered):
    """What the service says of a property."""

    erased_at = Moment(
        allow_none=True,
        metadata={
            "description": "When its client was erased; nothing is mown or laid there until "
            "another `client_id` is named."
        },
    )


CLIENTS: Final = Resource(
    path="clients",
    one="client",
    many="clients",
    about="Clients: whose lawns are mown, and who may take clippings.",
    fields=ClientFields,
    answered=(ClientFacts,),
    read_act=Act.READ_OWN,
    filters={"name": Text(longest=200)},
    example={"name": "R. Alvarez", "phone": "+1 555 0100", "language": "es"},
    changes_example={"display_units": "us"},
)

PROPERTIES: Final = Resource(
    path="properties",
    one="property",
    many="properties",
    about="Properties: a client's pieces of land.",
    fields=PropertyFields,
    answered=(PropertyFacts,),
    read_act=Act.READ_OWN,
    list_act=Act.READ_OWN,
    filters={"client_id": Identifier()},
    example={
        "client_id": OTHER_ID,
        "name": "Orchard Street",
        "address": "12 Orchard Street, Anytown",
        "locality": "Anytown",
        "point": {"type": "Point", "coordinates": [-1.2577, 51.752]},
        "may_sign": "R. Alvarez",
    },
    changes_example={"access_notes": "The gate sticks; lift it."},
)

LAWNS: Final = Resource(
    path="lawns",
    one="lawn",
    many="lawns",
    about="Lawns: where clippings come from.",
    fields=LawnFields,
    filters={"property_id": Identifier(), "grass_kind": Choice(GrassKind)},
    example={
        "property_id": OTHER_ID,
        "name": "Front",
        "area": {"value": 4.8, "unit": "1000.[sft_i]"},
        "grass_kind": "cool_season",
    },
    changes_example={"area": {"value": 450, "unit": "m2"}},
)

BEDS: Final = Resource(
    path="beds",
    one="bed",
    many="beds",
    about="Beds: where a thin layer of clippings may go, if everything allows it.",
    fields=BedFields,
    filters={
        "property_id": Identifier(),
        "drainage": Choice(Drainage),
        "ground_state": Choice(GroundState),
    },
    example={
        "property_id": OTHER_ID,
        "name": "Rose border",
        "area": {"value": 30, "unit": "m2"},
        "drainage": "free",
        "ground_state": "firm",
        "ground_state_at": "2026-05-24T06:30:00+01:00",
        "water_distance_m": 120,
        "well_distance_m": 300,
        "animals": ["dogs_or_cats"],
        "consent": {"state": "given", "given_on": "2026-04-01", "expires_on": "2026-10-31"},
        "legal_basis": {"kind": "grown_on_same_property"},
        "where_to_lay": "Along the wall, a hand's width off the stems.",
    },
    changes_example={"ground_state": "waterlogged", "ground_state_at": "2026-05-24T12:00:00Z"},
)

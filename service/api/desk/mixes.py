"""Questions about what is made of clippings: a compost mix, a liquid feed."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import fields, post_load

from service.api.books.spans import LOAD_MASS
from service.api.contract.schemas import Described
from service.api.desk.questions import Question
from service.api.fields import Choice, Flag, Number, Several, Text
from service.api.fields.quantities import MeasureField, Span
from service.core.materials import Wetness
from service.core.measures.quantities import Quantity
from service.usecases.compute import mixes

VESSEL: Final = Span(name="VesselVolume", quantity=Quantity.VOLUME, unit="L", low=5, high=100_000)
MOST_MATERIALS: Final = 20
MOST_BROWNS: Final = 6


def material_name(**options: Any) -> Text:
    """Return a field for the name of a material of the library."""
    return Text(
        longest=60,
        pattern="[a-z][a-z0-9_]*",
        allowed="the name of a material; GET /materials lists them",
        **options,
    )


class HeapedFields(Described):
    """A mass of a material; what is known of it takes the place of the library's value."""

    material = material_name(required=True)
    mass_kg = Number(low=0.1, high=1e6, required=True)
    moisture = Number(low=0, high=1)
    nitrogen_fraction = Number(low=0, high=0.5)
    carbon_to_nitrogen = Number(low=0, high=2000)
    bulk_density_kg_per_m3 = Number(low=5, high=1500)

    @post_load
    def build(self, data: dict[str, Any], **_: Any) -> mixes.Heaped:
        """Return the material with its mass."""
        return mixes.Heaped(**data)


class MixQuestion(Question):
    """What lies on the heap, and which browns are at hand."""

    computation = staticmethod(mixes.mix)

    materials = Several(fields.Nested(HeapedFields), most=MOST_MATERIALS)
    browns = Several(material_name(), most=MOST_BROWNS, unique=True)
    quality = Choice(("acceptable", "ideal"))
    water_allowed = Flag()


class LiquidFeedQuestion(Question):
    """Surplus clippings, untreated, and a vessel."""

    computation = staticmethod(mixes.liquid_feed)

    clippings_kg = Number(low=0.1, high=100_000)
    clippings = MeasureField(LOAD_MASS, beside="clippings_kg", beside_unit="kg")
    vessel_litres = Number(low=5, high=100_000)
    vessel = MeasureField(VESSEL, beside="vessel_litres", beside_unit="L")
    wetness = Choice(Wetness)

"""Questions about a bed: its room, how safe a layer is, what to do with a soured one."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import fields, post_load

from service.agronomy.layers.bed_room import LedgerEntry
from service.api.books.spans import BED_AREA
from service.api.contract.schemas import Described
from service.api.desk.lots import HEAP_DEPTH
from service.api.desk.questions import Question
from service.api.fields import Choice, Flag, Number, Several
from service.api.fields.quantities import MeasureField, Span
from service.core.materials import GrassKind, Wetness
from service.core.measures.quantities import Quantity
from service.usecases.compute import beds

SOURED_DEPTH: Final = Span(
    name="SouredDepth", quantity=Quantity.LENGTH, unit="mm", low=1, high=1000
)
MOST_LAYERS_LAID: Final = 400


class LaidFields(Described):
    """What was laid on the bed some days ago, per area."""

    age_days = Number(low=0, high=3650, required=True)
    mass_kg_per_m2 = Number(low=0, high=1000, required=True)
    nitrogen_kg_per_ha = Number(low=0, high=100_000, required=True)

    @post_load
    def build(self, data: dict[str, Any], **_: Any) -> LedgerEntry:
        """Return the entry of the ledger."""
        return LedgerEntry(**data)


class BedRoomQuestion(Question):
    """A bed and what already lies on it."""

    computation = staticmethod(beds.room)

    area_m2 = Number(low=0.1, high=100_000)
    area = MeasureField(BED_AREA, beside="area_m2", beside_unit="m2")
    grass_kind = Choice(GrassKind)
    wetness = Choice(Wetness)
    weighed = Flag(
        metadata={
            "description": "Whether the mass is weighed; one that is not counts, as in a verdict, "
            "by the high end of its estimate."
        }
    )
    laid = Several(fields.Nested(LaidFields), most=MOST_LAYERS_LAID)
    yearly_limit_kg_per_m2 = Number(
        low=0, high=1000, metadata={"description": "The client's own limit for any 12 months."}
    )


class LayerSafetyQuestion(Question):
    """A layer and the air over it."""

    computation = staticmethod(beds.layer_safety)

    depth_mm = Number(
        low=1,
        high=10_000,
        metadata={
            "description": "Of the whole layer as it lies, with the leaves of `browns_per_green` "
            "in it; so is every depth of the answer. The half inch of practice is of clippings "
            "alone, and is asked of a mixture too: that errs towards thin."
        },
    )
    depth = MeasureField(HEAP_DEPTH, beside="depth_mm", beside_unit="mm")
    air_temperature_c = Number(low=-40, high=50)
    wetness = Choice(Wetness)
    browns_per_green = Number(
        low=0, high=20, metadata={"description": "Volumes of dry leaves per volume of clippings."}
    )


class SouredBedQuestion(Question):
    """A bed that smells."""

    computation = staticmethod(beds.soured_bed)

    area_m2 = Number(low=0.1, high=100_000)
    area = MeasureField(BED_AREA, beside="area_m2", beside_unit="m2")
    depth_mm = Number(
        low=1,
        high=1000,
        metadata={
            "description": "Of the sour clippings as they lie, before any leaves are forked in; "
            "the depth that the steps rake them down to is of the same."
        },
    )
    depth = MeasureField(SOURED_DEPTH, beside="depth_mm", beside_unit="mm")
    wetness = Choice(Wetness)

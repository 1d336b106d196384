"""Questions about a lot: what a mowing yields, how long it keeps, dries and grows again."""

from __future__ import annotations

from typing import Final

from service.api.books.spans import GRASS_HEIGHT, HEIGHT_REMOVED, LAWN_AREA
from service.api.desk.questions import Question
from service.api.fields import Choice, Flag, Integer, Number, Several
from service.api.fields.quantities import MeasureField, Span
from service.core.materials import GrassKind, Wetness
from service.core.measures.quantities import Quantity
from service.usecases.compute import lots

HEAP_DEPTH: Final = Span(name="HeapDepth", quantity=Quantity.LENGTH, unit="mm", low=1, high=10_000)
SWATH_DEPTH: Final = Span(name="SwathDepth", quantity=Quantity.LENGTH, unit="mm", low=1, high=500)
LONGEST_REGROWTH_DAYS: Final = 60


class EstimateQuestion(Question):
    """What was mown, as a crew sees it."""

    computation = staticmethod(lots.estimate)

    area_m2 = Number(low=0.1, high=1e7)
    area = MeasureField(LAWN_AREA, beside="area_m2", beside_unit="m2")
    height_removed_mm = Number(above=0, high=1000)
    height_removed = MeasureField(HEIGHT_REMOVED, beside="height_removed_mm", beside_unit="mm")
    height_before_mm = Number(above=0, high=1000)
    height_before = MeasureField(GRASS_HEIGHT, beside="height_before_mm", beside_unit="mm")
    grass_kind = Choice(GrassKind)
    wetness = Choice(Wetness)
    southern_hemisphere = Flag()


class FreshnessQuestion(Question):
    """A heap, a body or a bag, as it lies."""

    computation = staticmethod(lots.freshness)

    depth_mm = Number(low=1, high=10_000)
    depth = MeasureField(HEAP_DEPTH, beside="depth_mm", beside_unit="mm")
    temperature_c = Number(
        low=-40,
        high=70,
        metadata={"description": "Of the core if it was measured, else of the air."},
    )
    wetness = Choice(Wetness)
    open_faces = Integer(
        low=0,
        high=2,
        metadata={"description": "0 a closed bag, 1 a body or a heap, 2 a layer on slats."},
    )


class DryingQuestion(Question):
    """A thin layer and its weather; without all three of its numbers practice answers."""

    computation = staticmethod(lots.drying)

    depth_mm = Number(low=1, high=500)
    depth = MeasureField(SWATH_DEPTH, beside="depth_mm", beside_unit="mm")
    wetness = Choice(Wetness)
    goal_moisture = Number(low=0.2, high=0.9)
    temperature_c = Number(low=-40, high=60)
    relative_humidity = Number(low=0, high=1)
    solar_w_per_m2 = Number(low=0, high=1400)
    on_tarp = Flag()


class RegrowthQuestion(Question):
    """A lawn and the weather since its last cut, a mean temperature a day."""

    computation = staticmethod(lots.regrowth)

    area_m2 = Number(above=0, high=1e7)
    area = MeasureField(LAWN_AREA, beside="area_m2", beside_unit="m2")
    daily_mean_temperatures_c = Several(Number(low=-40, high=60), most=LONGEST_REGROWTH_DAYS)
    grass_kind = Choice(lots.GrowingKind)
    wetness = Choice(Wetness)
    nitrogen_g_per_m2_per_month = Number(
        low=0,
        high=10,
        metadata={"description": "What the turf takes up in a month of full growth."},
    )

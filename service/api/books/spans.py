"""What a measure may be: wide enough for every real one, too narrow for a slip of the keyboard.

The limits are common practice, no source.
"""

from typing import Final

from service.api.fields.quantities import Span
from service.core.measures.quantities import Quantity

LAWN_AREA: Final = Span(name="LawnArea", quantity=Quantity.AREA, unit="m2", low=1, high=1_000_000)
BED_AREA: Final = Span(name="BedArea", quantity=Quantity.AREA, unit="m2", low=0.1, high=100_000)
GRASS_HEIGHT: Final = Span(
    name="GrassHeight", quantity=Quantity.LENGTH, unit="mm", low=1, high=2_000
)
HEIGHT_REMOVED: Final = Span(
    name="HeightRemoved", quantity=Quantity.LENGTH, unit="mm", low=0.5, high=2_000
)
LOAD_MASS: Final = Span(name="LoadMass", quantity=Quantity.MASS, unit="kg", low=0.1, high=40_000)
LOAD_VOLUME: Final = Span(
    name="LoadVolume", quantity=Quantity.VOLUME, unit="m3", low=0.001, high=120
)

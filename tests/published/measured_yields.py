"""What others measured of the grass a mower takes off, in one form.

The arithmetic, what was readable of each source and what was assumed stand in
service/agronomy/clippings/README.md. Keys are those of service/rules/sources.toml.
"""

import math
from dataclasses import dataclass
from typing import Final

from service.core.measures.quantities import to_si

# A week's growth where a source gives none [mm]: common practice, held against what others print.
WEEK_MM: Final = 25.0
# [law-2016] eight mowings a year fewer are 31 % of the weekly ones.
WEEKS_A_SEASON: Final = 26
SEASON_MM: Final = WEEKS_A_SEASON * WEEK_MM
ACRE_INCH_MM_M2: Final = to_si(1, "43560.[sft_i]") * 1000 * to_si(1, "[in_i]")
POUND_AN_ACRE_INCH: Final = 1000 * to_si(1, "[lb_av]") / ACRE_INCH_MM_M2
# Normal growth: what a source weighed fresh is as dry as the rulebook's lush grass.
LUSH_DRY_SHARE: Final = 1 - 0.825


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredYield:
    """Dry matter that came off a square metre over a height.

    Parameters
    ----------
    source, what
        Key of the source, and what was weighed there.
    grass_kind
        "cool_season" or "warm_season".
    height_mm
        Height over which it came off [mm].
    height_is_printed
        Whether the source prints it; otherwise it is a week's growth times weeks.
    least, most
        Ends of what is printed [g/m2]; equal if it is one number.
    """

    source: str
    what: str
    grass_kind: str
    height_mm: float
    height_is_printed: bool
    least: float
    most: float

    @property
    def middle(self) -> float:
        """Geometric middle of what is printed [g/m2]."""
        return math.sqrt(self.least * self.most)

    @property
    def density(self) -> float:
        """Dry matter per area and height of the middle [g/m2/mm]."""
        return self.middle / self.height_mm

    def __str__(self) -> str:
        """Return the name the test report shows."""
        return f"{self.source}: {self.what}"


def _cool(
    source: str, what: str, least: float, most: float, *, mm: float, printed: bool
) -> MeasuredYield:
    return MeasuredYield(
        source=source,
        what=what,
        grass_kind="cool_season",
        height_mm=mm,
        height_is_printed=printed,
        least=least,
        most=most,
    )


def _warm(
    source: str, what: str, least: float, most: float, *, mm: float, printed: bool
) -> MeasuredYield:
    return MeasuredYield(
        source=source,
        what=what,
        grass_kind="warm_season",
        height_mm=mm,
        height_is_printed=printed,
        least=least,
        most=most,
    )


INCH_MM: Final = 1000 * to_si(1, "[in_i]")
POUNDS_A_1000_FT2: Final = 1000 * to_si(1, "[lb_av]") / to_si(1, "1000.[sft_i]")
TON_AN_ACRE: Final = 1000 * to_si(1, "[ston_av]") / to_si(1, "43560.[sft_i]")

# What turf grows in a week, by whom [mm].
GROWN_MM: Final = {
    # 1.5 to 3.0 mm a day on poor ground.
    "shildrick-1986": 7 * math.sqrt(1.5 * 3.0),
    # 1.5 inches: a lawn that is fed enough.
    "nebraska-growth-rate": 1.5 * INCH_MM,
    # 11, 15 and 19 cm after one, two and three weeks: a park in a northern summer.
    "alaspaa-2013": (190.0 - 110.0) / 2,
}
# Dry matter of a litre of clippings in a mower's basket [g] [woods-clipping-volume].
LITRE_OF_BENTGRASS_G: Final = 60.0
LITRE_OF_MANILAGRASS_G: Final = 110.0

YIELDS: Final = (
    # 398.0 to 825.0 kg/ha went through the mower where grass stood 113 to 187 mm.
    _cool("alaspaa-2013", "park lawn, growth between", 42.7, 42.7, mm=74, printed=True),
    # 926 g/m3 at 170 mm, 1,219 g/m3 at 257 mm; over a millimetre.
    _cool("soder-2009", "four swards, mean of the stand", 0.926, 1.219, mm=1, printed=True),
    # 1,855 kg/ha at 118 mm, 2,350 kg/ha at 153 mm.
    _cool("bryan-2000", "bluegrass and clover, growth between", 49.5, 49.5, mm=35, printed=True),
    # (2,700 - 2,350) kg/ha over 50 mm, and (2,700 - 1,575) kg/ha over 100 mm.
    _cool("murphy-1997", "bluegrass and clover, top layers", 0.70, 1.125, mm=1, printed=True),
    _cool(
        "umaine-pasture-stick",
        "bluegrass, 150 to 400 lb/acre/inch",
        150 * POUND_AN_ACRE_INCH,
        400 * POUND_AN_ACRE_INCH,
        mm=1,
        printed=True,
    ),
    _cool("liu-hull-2006", "three grasses, a season", 368.0, 515.2, mm=SEASON_MM, printed=False),
    _cool("adams-1980", "ryegrass, 22 weeks", 167.0, 626.0, mm=22 * WEEK_MM, printed=False),
    _cool("friell-clippings", "lawns, a year", 470.0, 470.0, mm=SEASON_MM, printed=False),
    _cool("intergreen-2022", "lawns, a year", 400.0, 400.0, mm=SEASON_MM, printed=False),
    # 526.65 t from 111.21 ha.
    _cool("sobol-2021", "golf courses, a year", 473.6, 473.6, mm=SEASON_MM, printed=False),
    # 200 lb, of which 75 % is water.
    _cool(
        "csu-clippings",
        "lawns, a year",
        50 * POUNDS_A_1000_FT2,
        50 * POUNDS_A_1000_FT2,
        mm=SEASON_MM,
        printed=False,
    ),
    # Fresh, four weeks of new lawns; 25 to 36 mm a week, geometric middle.
    _cool(
        "nonn-2009",
        "new lawns, four weeks",
        900 * LUSH_DRY_SHARE,
        1200 * LUSH_DRY_SHARE,
        mm=4 * 30,
        printed=False,
    ),
    # 63, 80 and 137 kg/ha/cm above the lowest 50 mm of 60, 40 and 20 cm.
    _warm("newman-2003", "limpograss, upper layers", 0.63, 1.37, mm=1, printed=True),
    _warm(
        "noble-2004",
        "bermudagrass, 250 lb/acre/inch",
        250 * POUND_AN_ACRE_INCH,
        250 * POUND_AN_ACRE_INCH,
        mm=1,
        printed=True,
    ),
    # 5.3 less 4.6 short tons an acre in 63 days, mown every 10 to 14 days; 25 to 50 mm a mowing.
    _warm(
        "springer-2008",
        "bermudagrass lawn, 21 July to 22 September",
        0.7 * TON_AN_ACRE,
        0.7 * TON_AN_ACRE,
        mm=63 / 12 * math.sqrt(25 * 50),
        printed=False,
    ),
)

# One lawn, one week: 1 to 3 g/m2 a day [friell-clippings], taken as the 10th and 90th percentile.
LEAST_A_DAY, MOST_A_DAY = 1.0, 3.0

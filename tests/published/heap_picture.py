"""The picture of the heap's course that stands in the README of `service/agronomy/heat`.

Written by ``python -m tests.published.heap_picture``; a test says when it is behind.
"""

from datetime import date
from itertools import islice
from pathlib import Path

from service.agronomy.heat.freshness import HOT_C, WARM_C
from service.agronomy.heat.heap_course import heap_courses
from service.agronomy.heat.pockets import pockets_of
from service.core.materials import Wetness
from service.destinations.freshness import heap_clock, likely_grass
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook

PATH = Path(__file__).parents[2] / "service/agronomy/heat/heap.svg"
DAY = date(2026, 5, 12)
HOURS, FROM_C, TO_C = 24, 20, 70
WIDE, HIGH, LEFT, TOP = 720, 360, 56, 24
# Dark on white, told apart by their dashes too: read without colours.
LOOKS = {
    Wetness.DRY: ("dry or dewy", "#8a5a00", ""),
    Wetness.RAINED_ON: ("lush or rained on", "#1d4f91", "8 4"),
}


def _x(hours: float) -> float:
    return LEFT + (WIDE - LEFT - 16) * hours / HOURS


def _y(temperature_c: float) -> float:
    return TOP + (HIGH - TOP - 48) * (TO_C - temperature_c) / (TO_C - FROM_C)


def _text(x: float, y: float, words: str, anchor: str = "start", fill: str = "#222") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}">{words}</text>'


def _rule(x1: float, y1: float, x2: float, y2: float, stroke: str = "#ddd") -> str:
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="{stroke}" fill="none"/>'


def hottest_c(wetness: Wetness, rules: Rulebook) -> list[float]:
    """Return the hottest place of the clippings on the whole and of their pockets, hour by step."""
    grass = likely_grass(wetness, here=RulesHere(rules, DAY, ""))
    course = heap_courses(
        pockets_of(grass),
        depth_mm=800,
        temperature_c=25,
        air_temperature_c=25,
        surface_w_per_m2_k=10,
        open_faces=1,
        souring_reference_c=25,
        souring_ratio_per_10_c=2,
    )
    return [25.0, *(max(one.hottest_c for one in many) for many in islice(course, HOURS * 6))]


def drawn() -> str:
    """Return the picture."""
    rules = Rulebook.load()
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" '
            'font-family="sans-serif" font-size="13" role="img" '
            'aria-label="Hottest place in a body of cut grass, by hours since it was heaped">'
        )
    ]
    parts += [f'<rect width="{WIDE}" height="{HIGH}" fill="#fff"/>']
    for hours in range(0, HOURS + 1, 3):
        parts += [_rule(_x(hours), TOP, _x(hours), _y(FROM_C))]
        parts += [_text(_x(hours), _y(FROM_C) + 18, str(hours), "middle")]
    for temperature_c in range(FROM_C, TO_C + 1, 10):
        parts += [_rule(LEFT, _y(temperature_c), WIDE - 16, _y(temperature_c))]
        parts += [_text(LEFT - 8, _y(temperature_c) + 4, str(temperature_c), "end")]
    for limit_c, words in ((WARM_C, "40 C: amber"), (HOT_C, "60 C: red")):
        parts += [_rule(LEFT, _y(limit_c), WIDE - 16, _y(limit_c), "#b00020")]
        parts += [_text(WIDE - 20, _y(limit_c) - 5, words, "end", "#b00020")]
    for row, (wetness, (words, colour, dashes)) in enumerate(LOOKS.items()):
        curve = hottest_c(wetness, rules)
        line = " ".join(
            f"{_x(step / 6):.1f},{_y(value):.1f}"
            for step, value in enumerate(curve)
            if step % 2 == 0
        )
        parts += [
            (
                f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="2.5" '
                f'stroke-dasharray="{dashes}"/>'
            )
        ]
        grass = likely_grass(wetness, here=RulesHere(rules, DAY, ""))
        keeps = heap_clock(grass, here=RulesHere(rules, DAY, "")).red_hours
        y = _y(34) + 18 * row
        x = _x(13.2)
        parts += [
            (
                f'<path d="M{x:.1f} {y - 4:.1f}h36" stroke="{colour}" stroke-width="2.5" '
                f'stroke-dasharray="{dashes}"/>'
            ),
            _text(x + 44, y, f"{words}: keeps {keeps:.1f} h"),
        ]
    parts += [
        _text(_x(HOURS / 2), HIGH - 10, "hours since it was heaped, 800 mm, air at 25 C", "middle"),
        _text(LEFT, 14, "C, hottest place; 70 stands for 70 and more"),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    PATH.write_text(drawn(), encoding="utf-8")

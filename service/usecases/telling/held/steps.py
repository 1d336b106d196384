"""What is to be done about what waits in a bay, by its clock and by what was measured in it.

General caution: the label, local rules and the fire service's word go before it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

CAUTION: Final = (
    "Nobody works alone at a heap that is warm, and nobody climbs into it; local rules and the "
    "fire service's word go first."
)
_SPREAD: Final = "Turn it, or spread it out thinly: a thick mat can pass 60 C."
_AWAY: Final = "Keep people, animals and whatever burns away from it."
_EVERY_TWO_HOURS: Final = "Measure it again within two hours; nobody does so alone."
_OTHERS_AWAY: Final = (
    "Keep people who have no work there, animals and whatever burns away from it; nobody turns it "
    "alone."
)
_CALL: Final = "Do not open, turn or move it. Leave it, warn others, and call the fire service."

# By the clock: common practice, no source.
CLOCK_STEPS: Final[Mapping[str, tuple[str, ...]]] = {
    "amber": (
        "Turn it, or spread it out thinly.",
        "Measure it inside, and look again within a few hours.",
    ),
    "red": ("Until then spread it out, and keep people and animals away from what runs off it.",),
}
HEAT_FIRST: Final = "It is hot: what is said of its heat goes before its age."
# By the temperature: from 71.1 C on as the tables of hay have it [purdue-hay] [penn-state-hay],
# below that common practice, no source. The tables ask for twice a day up to 71 C; what is fresh
# heats within hours, and a hotter heap is never looked at less often than a cooler one.
HEAT_STEPS: Final[Mapping[str, tuple[str, ...]]] = {
    "warm": (_SPREAD, "Measure it again within a few hours."),
    "hot": (_SPREAD, _OTHERS_AWAY, _EVERY_TWO_HOURS),
    "check_every_two_hours": (_AWAY, _EVERY_TWO_HOURS),
    "alert_fire_service": (_CALL, _AWAY),
    "move_only_with_fire_service": (_CALL, _AWAY),
    "fire_imminent": (_CALL, _AWAY),
}
# What a heap of each level is called, as the tables of hay have it from 79.4 C on [purdue-hay].
HEAT_WORDS: Final[Mapping[str | None, str]] = {
    None: "cool",
    "warm": "warm",
    "hot": "hot",
    "check_every_two_hours": "very hot",
    "alert_fire_service": "likely to have hot spots",
    "move_only_with_fire_service": "likely to burn",
    "fire_imminent": "about to burn",
}

"""Hours and closed days, as every place that has them says them."""

from __future__ import annotations

from marshmallow import fields

from service.api.contract.schemas import ValueFields
from service.api.fields import Day, Integer, Several, TimeOfDay
from service.core.acceptance.hours import OpeningHours


class OpeningHoursFields(ValueFields):
    """One span of a weekday."""

    record_type = OpeningHours

    weekday = Integer(
        low=0,
        high=6,
        metadata={"description": "Monday is 0, Sunday 6: the weekday of ISO 8601 less one."},
    )
    opens = TimeOfDay()
    closes = TimeOfDay(
        metadata={"description": "No later than it opens: on the day after, over midnight."}
    )
    last_load = TimeOfDay(metadata={"description": "When the last load is taken."})


def hours_field(whose: str = "") -> Several:
    """Return the hours of a place; ``whose`` says what they are there."""
    return Several(
        fields.Nested(OpeningHoursFields),
        most=21,
        metadata={
            "description": (
                f"{whose} Monday is weekday 0. A weekday may have several spans, and between them "
                "is no hour. A plan brings loads in the first two that leave time within what is "
                "left of the depot's shift, and who comes between them waits; of a lawn it knows "
                "one a visit, the first in which its crew can be there; before it the crew waits."
            ).lstrip()
        },
    )


def closed_on_field() -> Several:
    """Return the days on which a place takes nothing."""
    return Several(
        Day(),
        most=100,
        unique=True,
        metadata={"description": "Days on which nothing is taken, nor in the night they begin."},
    )

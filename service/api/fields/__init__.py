"""Strict fields: each refuses what it does not mean, and says what is allowed.

A field knows its own JSON Schema (`json_schema`), so that the contract and the check
cannot drift apart.
"""

from service.api.fields.base import Strict
from service.api.fields.numbers import Amount, Count, Integer, Number
from service.api.fields.shapes import Link, Several, Shaped
from service.api.fields.times import Day, Moment, TimeOfDay, utc_text
from service.api.fields.words import Choice, Flag, Identifier, Text, ZoneName

__all__ = [
    "Amount",
    "Choice",
    "Count",
    "Day",
    "Flag",
    "Identifier",
    "Integer",
    "Link",
    "Moment",
    "Number",
    "Several",
    "Shaped",
    "Strict",
    "Text",
    "TimeOfDay",
    "ZoneName",
    "utc_text",
]

"""Strict fields: each refuses what it does not mean, and says what is allowed.

A field knows its own JSON Schema (`json_schema`), so that the contract and the check
cannot drift apart.
"""

from service.api.fields.base import Strict
from service.api.fields.numbers import Integer, IntegerInQuery, Number, NumberInQuery
from service.api.fields.shapes import Link, Several, Shaped
from service.api.fields.times import Day, Moment, TimeOfDay, utc_text
from service.api.fields.words import Choice, Flag, FlagInQuery, Identifier, Text, ZoneName

__all__ = [
    "Choice",
    "Day",
    "Flag",
    "FlagInQuery",
    "Identifier",
    "Integer",
    "IntegerInQuery",
    "Link",
    "Moment",
    "Number",
    "NumberInQuery",
    "Several",
    "Shaped",
    "Strict",
    "Text",
    "TimeOfDay",
    "ZoneName",
    "utc_text",
]

"""What is asked of the firm's own things: its yard, vehicles, crews and bays."""

from __future__ import annotations

from typing import Final

from service.pages.setup.columns import Column
from service.pages.setup.rows import file_bay, file_crew, file_vehicle, file_yard
from service.pages.setup.sheet import Sheet, where
from service.pages.setup.words import LANGUAGE_CHOICES

_YARD: Final = Column(name="yard", label="Yard", hint="Only where the firm has several.")
_LAST_DAY: Final = Column(
    name="used_until",
    label="Last day",
    kind="day",
    hint="Once it is sold, or has left: later days are planned without it.",
    example="2026-12-31",
)

YARDS: Final = Sheet(
    name="yard",
    many="The yard",
    one="yard",
    repository="depots",
    file=file_yard,
    known_by=("name", "address"),
    about="Where vehicles start and end. Its clock makes the working day, its law the rules.",
    columns=(
        Column(name="name", label="Name", required=True, example="North yard"),
        Column(name="address", label="Address", longest=500, required=True, example="1 Mill Lane"),
        where(example="51.7520, -1.2577"),
        Column(
            name="time_zone", label="Time zone", kind="zone", required=True, example="Europe/London"
        ),
        Column(
            name="jurisdiction",
            label="Country, or part of one",
            kind="law",
            required=True,
            hint="Whose law holds there, by its letters: GB-ENG, IE, PL, ES, US-OH.",
            example="GB-ENG",
        ),
        Column(
            name="shift_starts",
            label="Work begins",
            kind="clock",
            hint="07:00, if empty.",
            example="07:30",
        ),
        Column(
            name="shift_ends",
            label="Work ends",
            kind="clock",
            hint="17:30, if empty.",
            example="17:00",
        ),
        Column(
            name="crew_hour",
            label="A crew's hour",
            kind="number",
            high=6_000,
            hint="What it costs you, in your currency. If empty: wages of two, where a rule knows.",
            example="45.00",
        ),
    ),
)
VEHICLES: Final = Sheet(
    name="vehicles",
    many="Vehicles",
    one="vehicle",
    repository="vehicles",
    file=file_vehicle,
    known_by=("registration", "name", "payload_kg", "body_volume_m3"),
    about="What each may carry by its plate, and what its body holds. Full is not a weight.",
    columns=(
        Column(
            name="registration", label="Registration", longest=20, required=True, example="AB12 CDE"
        ),
        Column(name="name", label="What it is", longest=100, example="Tipper", group=""),
        Column(
            name="payload_kg",
            label="Payload [kg]",
            kind="number",
            above=True,
            high=40_000,
            required=True,
            hint="By the plate: what may be put on it.",
            example="900",
        ),
        Column(
            name="body_volume_m3",
            label="Body [m³]",
            kind="number",
            above=True,
            high=120,
            required=True,
            example="4.5",
        ),
        Column(
            name="gross_limit_kg",
            label="Gross limit [kg]",
            kind="number",
            above=True,
            high=80_000,
            example="3500",
        ),
        Column(
            name="tare_kg",
            label="Tare [kg]",
            kind="number",
            above=True,
            high=40_000,
            example="2480",
        ),
        _LAST_DAY,
        _YARD,
    ),
)
CREWS: Final = Sheet(
    name="crews",
    many="Crews",
    one="crew",
    repository="crews",
    file=file_crew,
    known_by=("name", "lead", "vehicle", "language"),
    about="Who drives what. A crew without a vehicle gets no lawns.",
    columns=(
        Column(name="name", label="Name", longest=100, required=True, example="Robin"),
        Column(name="lead", label="Who leads it", longest=100, example="Dana", group=""),
        Column(name="phone", label="Telephone", longest=40),
        Column(
            name="vehicle",
            label="Vehicle, by registration",
            longest=20,
            example="AB12 CDE",
            group="",
        ),
        Column(
            name="language",
            label="Language",
            kind="choice",
            choices=LANGUAGE_CHOICES,
            example="English",
            group="",
        ),
        _LAST_DAY,
        _YARD,
    ),
)
BAYS: Final = Sheet(
    name="bays",
    many="Hold bays",
    one="hold bay",
    repository="hold_bays",
    file=file_bay,
    known_by=("name", "volume_m3"),
    about="Where clippings wait that nobody may have yet. Without one they stay on the lawn.",
    columns=(
        Column(name="name", label="Name", required=True, example="Bay 1"),
        Column(
            name="volume_m3",
            label="Holds [m³]",
            kind="number",
            above=True,
            high=10_000,
            required=True,
            example="12",
        ),
        Column(
            name="leachate_contained", label="What runs out is caught", kind="flag", example="no"
        ),
        _YARD,
    ),
)

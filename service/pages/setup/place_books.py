"""What is asked of others' places: compost sites and clients' lawns."""

from __future__ import annotations

from typing import Final

from service.pages.setup.columns import Column
from service.pages.setup.rows import file_lawn, file_site
from service.pages.setup.sheet import Sheet, where
from service.pages.setup.words import (
    ACCEPTED,
    AREA_UNITS,
    FEES,
    GRASS,
    LANGUAGE_CHOICES,
    WEEK,
)

AREA: Final = (
    Column(name="area", label="Area", kind="number", required=True, low=0.1, example="240"),
    Column(
        name="area_unit",
        label="Unit (m², if empty)",
        group="",
        kind="choice",
        choices=AREA_UNITS,
        example="m2",
    ),
)
CLIENT: Final = Column(name="client", label="Client", required=True, example="R. Alvarez")
ADDRESS: Final = Column(
    name="address", label="Address", longest=500, required=True, example="12 Orchard Street"
)


SITES: Final = Sheet(
    name="sites",
    many="Compost sites",
    one="compost site",
    repository="compost_sites",
    file=file_site,
    known_by=("name", "operator", "address"),
    about="Who takes clippings, when, how much of it, and what that costs. Ask them; do not guess.",
    columns=(
        Column(name="name", label="Name", required=True, example="Hill compost"),
        Column(name="operator", label="Operator", required=True, example="Hill Farms"),
        Column(name="address", label="Address", longest=500, required=True, example="Hill Lane"),
        where(example="51.7700, -1.3000"),
        Column(name="phone", label="Telephone", longest=40, example="01632 960001"),
        Column(
            name="days",
            label="Open on",
            kind="several",
            required=True,
            choices=WEEK,
            hint="Monday to Friday is: mon; tue; wed; thu; fri.",
            example="mon; tue; wed; thu; fri",
        ),
        Column(name="opens", label="Opens", kind="clock", required=True, example="07:30"),
        Column(name="closes", label="Closes", kind="clock", required=True, example="17:00"),
        Column(
            name="last_load",
            label="Last load",
            kind="clock",
            required=True,
            hint="When the gate takes its last load.",
            example="16:30",
        ),
        Column(
            name="daily_capacity_kg",
            label="Takes a day [kg]",
            kind="number",
            above=True,
            high=10_000_000,
            required=True,
            example="5000",
        ),
        Column(
            name="fee_basis",
            label="Fee is",
            kind="choice",
            choices=FEES,
            required=True,
            example="per tonne",
        ),
        Column(
            name="fee",
            label="Fee",
            kind="number",
            high=10_000,
            required=True,
            hint="In the firm's currency.",
            example="38.00",
        ),
        Column(name="fee_minimum", label="At least", kind="number", high=10_000, example="9.00"),
        Column(
            name="accepted_statuses",
            label="Takes",
            kind="several",
            choices=ACCEPTED,
            hint="Clean only, if nothing is said.",
            example="clean; weeds in seed",
            group="",
        ),
        Column(
            name="takes_sour",
            label="Takes what has stood until it is sour",
            kind="flag",
            hint="Grass of the day before, say. None is brought while nobody has asked.",
            example="no",
            group="",
        ),
        Column(
            name="jurisdiction",
            label="Country, or part of one",
            kind="law",
            hint="The yard's, if empty.",
        ),
    ),
)
LAWNS: Final = Sheet(
    name="lawns",
    many="Clients and lawns",
    one="lawn",
    repository="lawns",
    file=file_lawn,
    known_by=("client", "address", "lawn", "area"),
    about=(
        "One row a lawn, with whose it is. A client or address that is on record is found by its "
        "name. Other clients only ever learn the locality."
    ),
    columns=(
        CLIENT,
        Column(
            name="phone",
            label="Telephone",
            longest=40,
            example="+44 1632 960002",
            group="How the client is reached",
        ),
        Column(
            name="email",
            label="E-mail",
            kind="mail",
            longest=254,
            group="How the client is reached",
        ),
        Column(
            name="language",
            label="Language of their notes",
            kind="choice",
            choices=LANGUAGE_CHOICES,
            group="How the client is reached",
        ),
        ADDRESS,
        Column(name="locality", label="Locality", longest=100, required=True, example="Oxford"),
        where(example="51.7540, -1.2400"),
        Column(name="access_notes", label="Access", kind="lines", longest=1000, group="The way in"),
        Column(
            name="lawn",
            label="Lawn",
            hint="Its name, where there are several.",
            example="Front",
            group="",
        ),
        *AREA,
        Column(
            name="grass_kind",
            label="Grass",
            kind="choice",
            choices=GRASS,
            example="cool season",
            group="",
        ),
        Column(
            name="days",
            label="Mown only on",
            kind="several",
            choices=WEEK,
            hint="On any day, if nothing is said.",
            group="When it may be mown",
        ),
        Column(
            name="opens",
            label="Mowing begins from",
            kind="clock",
            hint="The client's wish, or a rule about noise. At any hour, if nothing is said.",
            group="When it may be mown",
        ),
        Column(
            name="closes", label="Mowing begins until", kind="clock", group="When it may be mown"
        ),
        Column(
            name="opens_again", label="And again from", kind="clock", group="When it may be mown"
        ),
        Column(
            name="closes_again", label="And again until", kind="clock", group="When it may be mown"
        ),
    ),
)

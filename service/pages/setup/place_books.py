"""What is asked of others' places: compost sites, clients' lawns and beds."""

from __future__ import annotations

from typing import Final

from service.pages.setup.columns import Column
from service.pages.setup.rows import file_bed, file_lawn, file_site
from service.pages.setup.sheet import Sheet, where
from service.pages.setup.words import (
    ACCEPTED,
    ANIMALS,
    AREA_UNITS,
    BASES,
    CONSENTS,
    DRAINAGES,
    EXEMPTIONS,
    FEES,
    GRASS,
    GROUNDS,
    LANGUAGE_CHOICES,
    WEEK,
)

_AREA: Final = (
    Column(name="area", label="Area", kind="number", required=True, low=0.1, example="240"),
    Column(
        name="area_unit",
        label="Unit of the area",
        kind="choice",
        choices=AREA_UNITS,
        hint="Square metres, if nothing is said.",
        example="m2",
    ),
)
_CLIENT: Final = Column(name="client", label="Client", required=True, example="R. Alvarez")
_ADDRESS: Final = Column(
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
        ),
        Column(
            name="takes_sour",
            label="Takes what has stood until it is sour",
            kind="flag",
            hint="Grass of the day before, say. None is brought while nobody has asked.",
            example="no",
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
        _CLIENT,
        Column(name="phone", label="Telephone", longest=40, example="+44 1632 960002"),
        Column(name="email", label="E-mail", kind="mail", longest=254),
        Column(
            name="language",
            label="Language of their notes",
            kind="choice",
            choices=LANGUAGE_CHOICES,
        ),
        _ADDRESS,
        Column(name="locality", label="Locality", longest=100, required=True, example="Oxford"),
        where(example="51.7540, -1.2400"),
        Column(name="access_notes", label="Access", kind="lines", longest=1000),
        Column(
            name="lawn", label="Lawn", hint="Its name, where there are several.", example="Front"
        ),
        *_AREA,
        Column(
            name="grass_kind", label="Grass", kind="choice", choices=GRASS, example="cool season"
        ),
        Column(
            name="days",
            label="Mown only on",
            kind="several",
            choices=WEEK,
            hint="On any day, if nothing is said.",
        ),
        Column(
            name="opens",
            label="Mowing begins from",
            kind="clock",
            hint="The client's wish, or a rule about noise. At any hour, if nothing is said.",
        ),
        Column(name="closes", label="Mowing begins until", kind="clock"),
        Column(name="opens_again", label="And again from", kind="clock"),
        Column(name="closes_again", label="And again until", kind="clock"),
    ),
)
BEDS: Final = Sheet(
    name="beds",
    many="Beds",
    one="bed",
    repository="beds",
    file=file_bed,
    known_by=("client", "address", "bed", "area"),
    about=(
        "Where a thin layer may go. A bed takes nothing before its client has agreed and the legal "
        "ground is on record; what is not known counts against it."
    ),
    columns=(
        _CLIENT,
        _ADDRESS,
        Column(name="bed", label="Bed", required=True, example="Rose border"),
        *_AREA,
        Column(
            name="consent",
            label="The client agreed",
            kind="choice",
            choices=CONSENTS,
            example="agreed",
        ),
        Column(name="consent_on", label="Asked on", kind="day", example="2026-04-01"),
        Column(name="consent_until", label="Holds until", kind="day", example="2026-10-31"),
        Column(
            name="visit_max_kg",
            label="At most a visit [kg]",
            kind="number",
            above=True,
            high=40_000,
            hint="As much as there is room for, if nothing is said.",
        ),
        Column(
            name="visit_min_kg",
            label="No visit for less [kg]",
            kind="number",
            above=True,
            high=40_000,
        ),
        Column(
            name="month_max_kg",
            label="At most in a month [kg]",
            kind="number",
            above=True,
            high=1_000_000,
        ),
        Column(
            name="legal_basis",
            label="Legal ground",
            kind="choice",
            choices=BASES,
            example="grown on the same property",
        ),
        Column(
            name="exemption", label="Which exemption (England)", kind="choice", choices=EXEMPTIONS
        ),
        Column(name="reference", label="Its reference", longest=100),
        Column(name="basis_until", label="Its last day", kind="day"),
        Column(name="ground_kind", label="What ground it is", kind="choice", choices=GROUNDS),
        Column(name="drainage", label="Drainage", kind="choice", choices=DRAINAGES, example="free"),
        Column(name="edible", label="Food grows in it", kind="flag", example="no"),
        Column(name="animals", label="Animals that reach it", kind="several", choices=ANIMALS),
        Column(name="grazing_fenced", label="A fence keeps grazing animals off", kind="flag"),
        Column(name="slope_percent", label="Slope [%]", kind="number", high=200, example="2"),
        Column(
            name="near_drain_or_paving",
            label="Loose grass can reach a drain, road or paving",
            kind="flag",
            example="no",
        ),
        Column(
            name="water_distance_m",
            label="To the nearest water [m]",
            kind="number",
            high=100_000,
            example="120",
        ),
        Column(
            name="well_distance_m",
            label="To the nearest well [m]",
            kind="number",
            high=100_000,
            example="300",
        ),
        Column(name="point", label="Where, if not at the address", kind="point"),
        Column(name="where_to_lay", label="Where on it to lay", kind="lines", longest=500),
        Column(
            name="days",
            label="Deliveries only on",
            kind="several",
            choices=WEEK,
            hint="On any day, if nothing is said.",
        ),
        Column(
            name="opens",
            label="Deliveries from",
            kind="clock",
            hint="At any hour, if nothing is said. Until an earlier hour: over midnight.",
        ),
        Column(name="closes", label="Deliveries until", kind="clock"),
        Column(name="opens_again", label="And again from", kind="clock"),
        Column(name="closes_again", label="And again until", kind="clock"),
        Column(
            name="closed_on",
            label="Never on these days",
            kind="days",
            hint="Such as 2026-12-24; 2026-12-31.",
        ),
    ),
)

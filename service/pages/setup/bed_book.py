"""What is asked of a client's bed: most of it decides whether it may take anything."""

from __future__ import annotations

from typing import Final

from service.pages.setup.columns import Column
from service.pages.setup.place_books import ADDRESS, AREA, CLIENT
from service.pages.setup.rows import file_bed
from service.pages.setup.sheet import Sheet
from service.pages.setup.words import (
    ANIMALS,
    BASES,
    CONSENTS,
    DRAINAGES,
    EXEMPTIONS,
    GROUNDS,
    WEEK,
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
        CLIENT,
        ADDRESS,
        Column(name="bed", label="Bed", required=True, example="Rose border"),
        *AREA,
        Column(
            name="consent",
            label="The client agreed",
            kind="choice",
            choices=CONSENTS,
            example="agreed",
            group="",
        ),
        Column(
            name="consent_on",
            label="Asked on",
            kind="day",
            example="2026-04-01",
            group="What the client said",
        ),
        Column(
            name="consent_until",
            label="Holds until",
            kind="day",
            example="2026-10-31",
            group="What the client said",
        ),
        Column(
            name="visit_max_kg",
            label="Most a visit [kg]",
            kind="number",
            above=True,
            high=40_000,
            group="What the client said",
        ),
        Column(
            name="visit_min_kg",
            label="Least a visit [kg]",
            kind="number",
            above=True,
            high=40_000,
            group="What the client said",
        ),
        Column(
            name="month_max_kg",
            label="Most in a month [kg]",
            kind="number",
            above=True,
            high=1_000_000,
            group="What the client said",
        ),
        Column(
            name="legal_basis",
            label="Legal ground",
            kind="choice",
            choices=BASES,
            example="grown on the same property",
            group="",
        ),
        Column(
            name="exemption",
            label="Exemption (England)",
            kind="choice",
            choices=EXEMPTIONS,
            group="The paper of the legal ground",
        ),
        Column(
            name="basis_until",
            label="Its last day",
            kind="day",
            group="The paper of the legal ground",
        ),
        Column(
            name="reference",
            label="Its reference",
            longest=100,
            group="The paper of the legal ground",
        ),
        Column(
            name="ground_kind",
            label="What ground it is",
            kind="choice",
            choices=GROUNDS,
            group="Ground, plants and animals",
        ),
        Column(
            name="water_protection_zone",
            label="In a water protection zone",
            kind="flag",
            group="Ground, plants and animals",
        ),
        Column(
            name="slope_percent",
            label="Slope [%]",
            kind="number",
            high=200,
            example="2",
            group="Ground, plants and animals",
        ),
        Column(
            name="drainage",
            label="Drainage",
            kind="choice",
            choices=DRAINAGES,
            example="free",
            group="",
        ),
        Column(
            name="edible",
            label="Food grows in it",
            kind="flag",
            example="no",
            group="",
        ),
        Column(
            name="animals",
            label="Animals that reach it",
            kind="several",
            choices=ANIMALS,
            group="Ground, plants and animals",
        ),
        Column(
            name="grazing_fenced",
            label="A fence keeps grazing animals off",
            kind="flag",
            group="Ground, plants and animals",
        ),
        Column(
            name="near_drain_or_paving",
            label="Loose grass can reach a drain, road or paving",
            kind="flag",
            example="no",
            group="Ground, plants and animals",
        ),
        Column(
            name="water_distance_m",
            label="Nearest water [m]",
            kind="number",
            high=100_000,
            example="120",
            group="",
        ),
        Column(
            name="well_distance_m",
            label="Nearest well [m]",
            kind="number",
            high=100_000,
            example="300",
            group="",
        ),
        Column(
            name="point",
            label="Where, if not at the address",
            kind="point",
            group="Where on the place",
        ),
        Column(
            name="where_to_lay",
            label="Where on it to lay",
            kind="lines",
            longest=500,
            group="Where on the place",
        ),
        Column(
            name="days",
            label="Deliveries only on",
            kind="several",
            choices=WEEK,
            hint="On any day, if nothing is said.",
            group="Days and hours of deliveries",
        ),
        Column(
            name="opens",
            label="Deliveries from",
            kind="clock",
            hint="At any hour, if nothing is said. Until an earlier hour: over midnight.",
            group="Days and hours of deliveries",
        ),
        Column(
            name="closes",
            label="Deliveries until",
            kind="clock",
            group="Days and hours of deliveries",
        ),
        Column(
            name="opens_again",
            label="And again from",
            kind="clock",
            group="Days and hours of deliveries",
        ),
        Column(
            name="closes_again",
            label="And again until",
            kind="clock",
            group="Days and hours of deliveries",
        ),
        Column(
            name="closed_on",
            label="Never on these days",
            kind="days",
            hint="Such as 2026-12-24; 2026-12-31.",
            group="Days and hours of deliveries",
        ),
    ),
)

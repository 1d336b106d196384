"""Clients, their land, the firm's yards, and the sites that take clippings."""

from sqlalchemy import CheckConstraint

from service.core.places import Bed, Client, CompostSite, Depot, HoldBay, Lawn, Property
from service.storage.columns import (
    RecordRow,
    above_zero,
    between,
    counted_from,
    names,
    not_negative,
)


class ClientRow(RecordRow, of=Client):
    """A client."""

    __tablename__ = "clients"


class PropertyRow(RecordRow, of=Property):
    """A client's piece of land."""

    __tablename__ = "properties"

    __table_args__ = (*names("client_id", "clients"),)


class LawnRow(RecordRow, of=Lawn):
    """A lawn."""

    __tablename__ = "lawns"

    __table_args__ = (
        *names("property_id", "properties"),
        *above_zero("area_value", "area_si_value"),
    )


class BedRow(RecordRow, of=Bed):
    """A bed."""

    __tablename__ = "beds"

    __table_args__ = (
        *names("property_id", "properties"),
        *above_zero("area_value", "area_si_value"),
        *not_negative("water_distance_m", "well_distance_m", "slope_percent"),
    )


class DepotRow(RecordRow, of=Depot):
    """A yard that crews start from."""

    __tablename__ = "depots"

    __table_args__ = (
        CheckConstraint("shift_starts < shift_ends", name="shift"),
        *above_zero("fairness_limit_kg_per_m2"),
        *counted_from(0, "fairness_price_cents_per_t_per_kg_per_m2", "crew_minute_cents"),
    )


class HoldBayRow(RecordRow, of=HoldBay):
    """A bay where clippings wait."""

    __tablename__ = "hold_bays"

    __table_args__ = (
        *names("depot_id", "depots"),
        *above_zero("volume_m3"),
    )


class CompostSiteRow(RecordRow, of=CompostSite):
    """A compost site."""

    __tablename__ = "compost_sites"

    __table_args__ = (
        *not_negative("daily_capacity_kg", "process_days"),
        *counted_from(0, "unloading_minutes", "process_turnings"),
        *between(-273.15, 1000, "process_temperature_c"),
    )

"""Keep everything the service keeps."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TABLES = (
    "note_numbers",
    "delivery_notes",
    "hold_entries",
    "loads",
    "working_days",
    "day_plans",
    "jobs",
    "treatments",
    "crews",
    "vehicles",
    "compost_sites",
    "hold_bays",
    "depots",
    "beds",
    "lawns",
    "properties",
    "clients",
    "answers",
    "amendments",
    "api_keys",
    "firms",
)

# What this migration says must stay as it was on its day, so it borrows nothing from the service.
# Only the naming of constraints comes from there, through the metadata that Alembic was given.


def column(name: str, kind: sa.types.TypeEngine, *, missing: bool = False) -> sa.Column:
    """Return a column; `missing` allows NULL."""
    return sa.Column(name, kind, nullable=missing)


def uuid(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of ids."""
    return column(name, sa.Uuid(), missing=missing)


def text(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of words."""
    return column(name, sa.Text(), missing=missing)


def whole(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of whole numbers."""
    return column(name, sa.BigInteger(), missing=missing)


def number(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of numbers with a fraction, 64 bits."""
    return column(name, sa.Double(), missing=missing)


def yes_or_no(name: str) -> sa.Column:
    """Return a column of truths."""
    return column(name, sa.Boolean())


def json(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of nested values; JSON as it was written, not JSONB."""
    return column(name, sa.JSON(), missing=missing)


def moment(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of moments; in UTC where the database keeps no zone."""
    return column(name, sa.DateTime(timezone=True), missing=missing)


def day(name: str) -> sa.Column:
    """Return a column of dates."""
    return column(name, sa.Date())


def clock(name: str) -> sa.Column:
    """Return a column of times of day."""
    return column(name, sa.Time())


def raw(name: str, *, missing: bool = False) -> sa.Column:
    """Return a column of bytes."""
    return column(name, sa.LargeBinary(), missing=missing)


def check(name: str, condition: str) -> sa.CheckConstraint:
    """Return a condition on the values of a row."""
    return sa.CheckConstraint(condition, name=name)


def one_of(field: str, *words: str) -> sa.CheckConstraint:
    """Return the condition that a field is one of these words."""
    listed = ", ".join(f"'{word}'" for word in words)
    return check(field, f"{field} IN ({listed})")


def names(field: str, table: str) -> sa.ForeignKeyConstraint:
    """Return the foreign key from a field to a record of the same firm."""
    return sa.ForeignKeyConstraint(["firm_id", field], [f"{table}.firm_id", f"{table}.id"])


def index(table: str, *fields: str) -> None:
    """Make an index on fields within a firm."""
    op.create_index(None, table, ["firm_id", *fields])


def firm_table(name: str, key: str, *items: sa.schema.SchemaItem) -> None:
    """Make a table of a firm's own; its key is the firm and a field."""
    op.create_table(
        name,
        uuid("firm_id"),
        *items,
        sa.PrimaryKeyConstraint("firm_id", key),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"]),
    )


def record_table(name: str, *items: sa.schema.SchemaItem) -> None:
    """Make a table of kept records."""
    firm_table(
        name,
        "id",
        uuid("id"),
        whole("version"),
        moment("created_at"),
        moment("updated_at"),
        *items,
        check("version", "version >= 1"),
    )


def make_access() -> None:
    """Make the tables of firms, keys, changes and answers."""
    op.create_table(
        "firms",
        uuid("id"),
        text("name"),
        text("address"),
        text("phone"),
        text("currency"),
        moment("created_at"),
        sa.PrimaryKeyConstraint("id"),
    )
    firm_table(
        "api_keys",
        "id",
        uuid("id"),
        text("role"),
        text("name"),
        text("secret_sha256"),
        moment("created_at"),
        moment("revoked_at", missing=True),
        one_of("role", "owner", "dispatcher", "crew", "integrator"),
    )
    op.create_index(None, "api_keys", ["secret_sha256"], unique=True)
    firm_table(
        "amendments",
        "id",
        uuid("id"),
        text("record_kind"),
        uuid("record_id"),
        whole("record_version"),
        moment("at"),
        uuid("key_id", missing=True),
        text("reason", missing=True),
        json("changes"),
        check("record_version", "record_version >= 1"),
    )
    index("amendments", "record_id", "record_version")
    firm_table(
        "answers",
        "key",
        text("key"),
        text("request_sha256"),
        uuid("seed_id"),
        moment("started_at"),
        whole("status", missing=True),
        json("headers", missing=True),
        raw("body", missing=True),
        check("status", "status >= 100 AND status <= 599"),
    )
    index("answers", "started_at")


def make_places() -> None:
    """Make the tables of clients, their land, yards and sites."""
    record_table(
        "clients",
        text("name"),
        text("phone", missing=True),
        text("email", missing=True),
        text("address", missing=True),
        text("language"),
        text("display_units"),
        one_of("display_units", "metric", "us"),
    )
    record_table(
        "properties",
        uuid("client_id"),
        text("name"),
        text("address"),
        text("locality"),
        number("point_latitude"),
        number("point_longitude"),
        text("access_notes", missing=True),
        text("may_sign", missing=True),
        check("point_latitude", "point_latitude >= -90 AND point_latitude <= 90"),
        check("point_longitude", "point_longitude >= -180 AND point_longitude <= 180"),
        names("client_id", "clients"),
    )
    index("properties", "client_id")
    record_table(
        "lawns",
        uuid("property_id"),
        text("name"),
        number("area_value"),
        text("area_unit"),
        number("area_si_value"),
        text("grass_kind"),
        check("area_si_value", "area_si_value > 0 AND area_si_value < 1e300"),
        check("area_value", "area_value > 0 AND area_value < 1e300"),
        one_of("grass_kind", "cool_season", "warm_season", "mixed", "unknown"),
        names("property_id", "properties"),
    )
    index("lawns", "property_id")
    record_table(
        "beds",
        uuid("property_id"),
        text("name"),
        number("area_value"),
        text("area_unit"),
        number("area_si_value"),
        text("drainage"),
        text("ground_state"),
        moment("ground_state_at", missing=True),
        yes_or_no("edible"),
        yes_or_no("organic_certified"),
        number("water_distance_m", missing=True),
        number("well_distance_m", missing=True),
        json("animals"),
        number("slope_percent"),
        text("sensitive_plants", missing=True),
        yes_or_no("near_drain_or_paving"),
        number("point_latitude", missing=True),
        number("point_longitude", missing=True),
        json("consent"),
        json("legal_basis"),
        text("where_to_lay", missing=True),
        check("area_si_value", "area_si_value > 0 AND area_si_value < 1e300"),
        check("area_value", "area_value > 0 AND area_value < 1e300"),
        one_of("drainage", "free", "moderate", "poor", "unknown"),
        one_of("ground_state", "firm", "soft", "waterlogged", "frozen", "snow", "unknown"),
        check("point_latitude", "point_latitude >= -90 AND point_latitude <= 90"),
        check("point_longitude", "point_longitude >= -180 AND point_longitude <= 180"),
        check("point_whole", "(point_latitude IS NULL) = (point_longitude IS NULL)"),
        check("slope_percent", "slope_percent >= 0 AND slope_percent < 1e300"),
        check("water_distance_m", "water_distance_m >= 0 AND water_distance_m < 1e300"),
        check("well_distance_m", "well_distance_m >= 0 AND well_distance_m < 1e300"),
        names("property_id", "properties"),
    )
    index("beds", "property_id")
    record_table(
        "depots",
        text("name"),
        text("address"),
        number("point_latitude"),
        number("point_longitude"),
        text("time_zone"),
        clock("shift_starts"),
        clock("shift_ends"),
        text("jurisdiction"),
        check("point_latitude", "point_latitude >= -90 AND point_latitude <= 90"),
        check("point_longitude", "point_longitude >= -180 AND point_longitude <= 180"),
        check("shift", "shift_starts < shift_ends"),
    )
    record_table(
        "hold_bays",
        uuid("depot_id"),
        text("name"),
        number("volume_m3"),
        yes_or_no("leachate_contained"),
        check("volume_m3", "volume_m3 > 0 AND volume_m3 < 1e300"),
        names("depot_id", "depots"),
    )
    index("hold_bays", "depot_id")
    record_table(
        "compost_sites",
        text("name"),
        text("operator"),
        text("address"),
        number("point_latitude"),
        number("point_longitude"),
        text("time_zone"),
        text("phone", missing=True),
        json("accepted_statuses"),
        json("hours"),
        json("closed_on"),
        number("daily_capacity_kg"),
        json("fee"),
        json("live_status"),
        whole("unloading_minutes"),
        text("jurisdiction"),
        number("process_temperature_c", missing=True),
        number("process_days", missing=True),
        whole("process_turnings", missing=True),
        check("daily_capacity_kg", "daily_capacity_kg >= 0 AND daily_capacity_kg < 1e300"),
        check("point_latitude", "point_latitude >= -90 AND point_latitude <= 90"),
        check("point_longitude", "point_longitude >= -180 AND point_longitude <= 180"),
        check("process_days", "process_days >= 0 AND process_days < 1e300"),
        check(
            "process_temperature_c",
            "process_temperature_c >= -273.15 AND process_temperature_c <= 1000",
        ),
        check("process_turnings", "process_turnings >= 0"),
        check("unloading_minutes", "unloading_minutes >= 0"),
    )


def make_work() -> None:
    """Make the tables of vehicles, crews, treatments, jobs and days."""
    record_table(
        "vehicles",
        uuid("depot_id"),
        text("registration"),
        text("name", missing=True),
        number("payload_kg"),
        number("body_volume_m3"),
        number("gross_limit_kg", missing=True),
        number("tare_kg", missing=True),
        check("body_volume_m3", "body_volume_m3 > 0 AND body_volume_m3 < 1e300"),
        check("gross_limit_kg", "gross_limit_kg > 0 AND gross_limit_kg < 1e300"),
        check("payload_kg", "payload_kg > 0 AND payload_kg < 1e300"),
        check("tare_kg", "tare_kg > 0 AND tare_kg < 1e300"),
        names("depot_id", "depots"),
    )
    index("vehicles", "depot_id")
    record_table(
        "crews",
        uuid("depot_id"),
        text("name"),
        text("lead", missing=True),
        text("phone", missing=True),
        uuid("vehicle_id", missing=True),
        text("language"),
        names("depot_id", "depots"),
        names("vehicle_id", "vehicles"),
    )
    index("crews", "depot_id")
    index("crews", "vehicle_id")
    record_table(
        "treatments",
        uuid("lawn_id"),
        text("product"),
        json("active_ingredients"),
        day("applied_on"),
        text("statement_source"),
        text("stated_by"),
        json("label_wait", missing=True),
        moment("people_may_return_at", missing=True),
        text("remarks", missing=True),
        one_of(
            "statement_source", "applicator_record", "client_statement", "crew_observation", "other"
        ),
        names("lawn_id", "lawns"),
    )
    index("treatments", "lawn_id")
    record_table(
        "jobs",
        uuid("property_id"),
        uuid("lawn_id", missing=True),
        uuid("crew_id"),
        uuid("vehicle_id"),
        uuid("depot_id"),
        text("state"),
        moment("planned_at", missing=True),
        moment("cut_at", missing=True),
        whole("minutes_on_site"),
        number("area_mowed_value"),
        text("area_mowed_unit"),
        number("area_mowed_si_value"),
        number("height_before_value", missing=True),
        text("height_before_unit", missing=True),
        number("height_before_si_value", missing=True),
        number("height_after_value", missing=True),
        text("height_after_unit", missing=True),
        number("height_after_si_value", missing=True),
        number("height_removed_value", missing=True),
        text("height_removed_unit", missing=True),
        number("height_removed_si_value", missing=True),
        text("grass_kind"),
        text("wetness"),
        yes_or_no("weeds_in_seed"),
        yes_or_no("disease_seen"),
        yes_or_no("litter_seen"),
        text("clippings"),
        text("treatment_history"),
        number("measured_mass_value", missing=True),
        text("measured_mass_unit", missing=True),
        number("measured_mass_si_value", missing=True),
        number("measured_volume_value", missing=True),
        text("measured_volume_unit", missing=True),
        number("measured_volume_si_value", missing=True),
        text("remarks", missing=True),
        text("lot_code"),
        json("estimate", missing=True),
        text("status"),
        json("findings"),
        check("area_mowed_si_value", "area_mowed_si_value > 0 AND area_mowed_si_value < 1e300"),
        check("area_mowed_value", "area_mowed_value > 0 AND area_mowed_value < 1e300"),
        one_of("clippings", "collected", "left"),
        one_of("grass_kind", "cool_season", "warm_season", "mixed", "unknown"),
        check(
            "height_after_si_value", "height_after_si_value >= 0 AND height_after_si_value < 1e300"
        ),
        check(
            "height_before_si_value",
            "height_before_si_value >= 0 AND height_before_si_value < 1e300",
        ),
        check(
            "height_removed_si_value",
            "height_removed_si_value > 0 AND height_removed_si_value < 1e300",
        ),
        check(
            "measured_mass_si_value",
            "measured_mass_si_value >= 0 AND measured_mass_si_value < 1e300",
        ),
        check(
            "measured_volume_si_value",
            "measured_volume_si_value >= 0 AND measured_volume_si_value < 1e300",
        ),
        check("minutes_on_site", "minutes_on_site >= 0"),
        check("mown_is_cut", "state <> 'mown' OR cut_at IS NOT NULL"),
        check("planned_has_time", "state <> 'planned' OR planned_at IS NOT NULL"),
        one_of("state", "planned", "mown", "cancelled"),
        one_of("status", "clean", "weedy", "diseased", "treated", "unknown", "littered"),
        one_of("treatment_history", "known", "none_recorded", "unknown"),
        one_of("wetness", "dry", "dewy", "rained_on", "lush", "unknown"),
        names("crew_id", "crews"),
        names("depot_id", "depots"),
        names("lawn_id", "lawns"),
        names("property_id", "properties"),
        names("vehicle_id", "vehicles"),
    )
    index("jobs", "crew_id")
    index("jobs", "depot_id", "cut_at")
    index("jobs", "depot_id", "planned_at")
    index("jobs", "lawn_id", "cut_at")
    index("jobs", "property_id")
    index("jobs", "vehicle_id")
    record_table(
        "day_plans",
        uuid("depot_id"),
        day("day"),
        whole("sequence"),
        whole("revision"),
        moment("planned_at"),
        text("rulebook_version"),
        uuid("supersedes_id", missing=True),
        whole("cost_cents"),
        whole("bound_cents"),
        yes_or_no("bound_proven"),
        json("routing"),
        names("depot_id", "depots"),
        names("supersedes_id", "day_plans"),
        sa.UniqueConstraint("firm_id", "depot_id", "day", "sequence"),
    )
    index("day_plans", "supersedes_id")
    record_table(
        "working_days",
        uuid("depot_id"),
        day("day"),
        whole("revision"),
        whole("planned_revision"),
        uuid("plan_id", missing=True),
        check("planned_revision", "planned_revision >= -1"),
        check("revision", "revision >= 0"),
        names("depot_id", "depots"),
        names("plan_id", "day_plans"),
        sa.UniqueConstraint("firm_id", "depot_id", "day"),
    )
    index("working_days", "plan_id")


def make_papers() -> None:
    """Make the tables of loads, hold entries and notes."""
    record_table(
        "loads",
        uuid("depot_id"),
        day("working_day"),
        uuid("plan_id"),
        uuid("vehicle_id"),
        uuid("crew_id", missing=True),
        text("destination_kind"),
        uuid("destination_id"),
        text("state"),
        yes_or_no("locked"),
        whole("sequence"),
        uuid("after_job_id", missing=True),
        moment("arrive_at"),
        json("parts"),
        text("status"),
        json("mass_kg"),
        json("volume_m3"),
        json("nitrogen_kg"),
        number("weighed_net_value", missing=True),
        text("weighed_net_unit", missing=True),
        number("weighed_net_si_value", missing=True),
        text("weigh_ticket", missing=True),
        text("ticket_review"),
        text("refusal_reason", missing=True),
        number("refused_share"),
        moment("done_at", missing=True),
        whole("fee_cents"),
        json("explanation"),
        one_of("ticket_review", "awaited", "accepted", "set_aside"),
        one_of("destination_kind", "bed", "compost_site", "hold_bay", "lawn"),
        check("refused_share", "refused_share >= 0 AND refused_share <= 1"),
        one_of(
            "state", "planned", "under_way", "delivered", "partly_refused", "refused", "superseded"
        ),
        one_of("status", "clean", "weedy", "diseased", "treated", "unknown", "littered"),
        check("weighed_net_si_value", "weighed_net_si_value >= 0 AND weighed_net_si_value < 1e300"),
        names("after_job_id", "jobs"),
        names("crew_id", "crews"),
        names("depot_id", "depots"),
        names("plan_id", "day_plans"),
        names("vehicle_id", "vehicles"),
    )
    index("loads", "after_job_id")
    index("loads", "crew_id")
    index("loads", "depot_id", "working_day")
    index("loads", "destination_id", "done_at")
    index("loads", "plan_id")
    index("loads", "vehicle_id")
    record_table(
        "hold_entries",
        uuid("hold_bay_id"),
        uuid("load_id"),
        json("lot_codes"),
        text("status"),
        json("mass_kg"),
        json("volume_m3"),
        text("reason_code"),
        text("reason"),
        text("release_condition_code"),
        text("release_condition"),
        moment("cut_at"),
        moment("amber_at"),
        moment("red_at"),
        text("state"),
        moment("held_since", missing=True),
        moment("released_at", missing=True),
        text("released_to", missing=True),
        one_of("state", "expected", "in_bay", "released", "superseded"),
        one_of("status", "clean", "weedy", "diseased", "treated", "unknown", "littered"),
        names("hold_bay_id", "hold_bays"),
        names("load_id", "loads"),
    )
    index("hold_entries", "hold_bay_id")
    index("hold_entries", "load_id")
    record_table(
        "delivery_notes",
        text("number"),
        whole("note_version"),
        uuid("replaces_id", missing=True),
        uuid("load_id"),
        uuid("client_id"),
        text("language"),
        moment("issued_at"),
        json("content"),
        text("sha256"),
        json("acknowledgement", missing=True),
        check("note_version", "note_version >= 1"),
        names("client_id", "clients"),
        names("load_id", "loads"),
        names("replaces_id", "delivery_notes"),
        sa.UniqueConstraint("firm_id", "number", "note_version"),
    )
    index("delivery_notes", "client_id")
    index("delivery_notes", "load_id")
    index("delivery_notes", "replaces_id")
    firm_table(
        "note_numbers",
        "year",
        whole("year"),
        whole("last_number"),
        check("last_number", "last_number >= 1"),
    )


def upgrade() -> None:
    """Make every table, those that others name first."""
    make_access()
    make_places()
    make_work()
    make_papers()


def downgrade() -> None:
    """Drop every table, those that name others first."""
    for table in TABLES:
        op.drop_table(table)

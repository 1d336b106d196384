"""Let every kilogram be somewhere: the mass book, filled from what was kept before it."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import sqlalchemy as sa
from alembic import op
from uuid_utils.compat import uuid7

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


REASON = "entered from the records that were kept before the mass book"
NOTHING = 1e-6
TIMES_BEYOND_ESTIMATE = 3.0
AMOUNTS = (
    "share",
    "mass_low_kg",
    "mass_likely_kg",
    "mass_high_kg",
    "nitrogen_low_kg",
    "nitrogen_likely_kg",
    "nitrogen_high_kg",
    "counted_kg",
)
ENDS = ("low", "likely", "high")
Row = Mapping[str, Any]


def upgrade() -> None:
    """Make the tables and fill them."""
    op.create_table(
        "mass_balances",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("place_kind", sa.Text(), nullable=False),
        sa.Column("place_id", sa.Uuid(), nullable=False),
        sa.Column("lot_id", sa.Uuid(), nullable=False),
        sa.Column("share", sa.Double(), nullable=False),
        sa.Column("mass_low_kg", sa.Double(), nullable=False),
        sa.Column("mass_likely_kg", sa.Double(), nullable=False),
        sa.Column("mass_high_kg", sa.Double(), nullable=False),
        sa.Column("nitrogen_low_kg", sa.Double(), nullable=False),
        sa.Column("nitrogen_likely_kg", sa.Double(), nullable=False),
        sa.Column("nitrogen_high_kg", sa.Double(), nullable=False),
        sa.Column("counted_kg", sa.Double(), nullable=False),
        *_finite("mass_balances", *AMOUNTS),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_mass_balances_firm_id")),
        sa.PrimaryKeyConstraint(
            "firm_id", "place_kind", "place_id", "lot_id", name=op.f("pk_mass_balances")
        ),
    )
    with op.batch_alter_table("mass_balances", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_mass_balances_firm_id_lot_id"), ["firm_id", "lot_id"], unique=False
        )

    op.create_table(
        "mass_movements",
        sa.Column("firm_id", sa.Uuid(), nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("cause_id", sa.Uuid(), nullable=False),
        sa.Column("lot_id", sa.Uuid(), nullable=False),
        sa.Column("lot_code", sa.Text(), nullable=True),
        sa.Column("from_kind", sa.Text(), nullable=False),
        sa.Column("from_id", sa.Uuid(), nullable=False),
        sa.Column("to_kind", sa.Text(), nullable=False),
        sa.Column("to_id", sa.Uuid(), nullable=False),
        sa.Column("share", sa.Double(), nullable=False),
        sa.Column("mass_low_kg", sa.Double(), nullable=False),
        sa.Column("mass_likely_kg", sa.Double(), nullable=False),
        sa.Column("mass_high_kg", sa.Double(), nullable=False),
        sa.Column("nitrogen_low_kg", sa.Double(), nullable=False),
        sa.Column("nitrogen_likely_kg", sa.Double(), nullable=False),
        sa.Column("nitrogen_high_kg", sa.Double(), nullable=False),
        sa.Column("counted_kg", sa.Double(), nullable=False),
        sa.Column("weighed_kg", sa.Double(), nullable=True),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("depot_id", sa.Uuid(), nullable=True),
        sa.Column("corrects_id", sa.Uuid(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("key_id", sa.Uuid(), nullable=True),
        sa.CheckConstraint(
            "cause IN ('cut', 'taken_over', 'tipped', 'released', 'opening')",
            name=op.f("ck_mass_movements_cause"),
        ),
        sa.CheckConstraint(
            "status IN ('clean', 'weedy', 'diseased', 'treated', 'unknown', 'littered')",
            name=op.f("ck_mass_movements_status"),
        ),
        *_finite("mass_movements", *AMOUNTS, "weighed_kg"),
        sa.CheckConstraint("version >= 1", name=op.f("ck_mass_movements_version")),
        sa.ForeignKeyConstraint(
            ["firm_id", "corrects_id"],
            ["mass_movements.firm_id", "mass_movements.id"],
            name=op.f("fk_mass_movements_firm_id_corrects_id"),
        ),
        sa.ForeignKeyConstraint(
            ["firm_id", "depot_id"],
            ["depots.firm_id", "depots.id"],
            name=op.f("fk_mass_movements_firm_id_depot_id"),
        ),
        sa.ForeignKeyConstraint(["firm_id"], ["firms.id"], name=op.f("fk_mass_movements_firm_id")),
        sa.PrimaryKeyConstraint("firm_id", "id", name=op.f("pk_mass_movements")),
    )
    with op.batch_alter_table("mass_movements", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_mass_movements_firm_id_corrects_id"),
            ["firm_id", "corrects_id"],
            unique=False,
        )
        batch_op.create_index(
            batch_op.f("ix_mass_movements_firm_id_depot_id_day"),
            ["firm_id", "depot_id", "day"],
            unique=False,
        )
        batch_op.create_index(
            batch_op.f("ix_mass_movements_firm_id_from_id_day"),
            ["firm_id", "from_id", "day"],
            unique=False,
        )
        batch_op.create_index(
            batch_op.f("ix_mass_movements_firm_id_lot_id"), ["firm_id", "lot_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_mass_movements_firm_id_to_id_day"),
            ["firm_id", "to_id", "day"],
            unique=False,
        )

    with op.batch_alter_table("loads", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_loads_firm_id_state"), ["firm_id", "state"], unique=False
        )
    _fill(op.get_bind())


def downgrade() -> None:
    """Take the book away; the records it was filled from stay."""
    with op.batch_alter_table("loads", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_loads_firm_id_state"))

    with op.batch_alter_table("mass_movements", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_mass_movements_firm_id_to_id_day"))
        batch_op.drop_index(batch_op.f("ix_mass_movements_firm_id_lot_id"))
        batch_op.drop_index(batch_op.f("ix_mass_movements_firm_id_from_id_day"))
        batch_op.drop_index(batch_op.f("ix_mass_movements_firm_id_depot_id_day"))
        batch_op.drop_index(batch_op.f("ix_mass_movements_firm_id_corrects_id"))

    op.drop_table("mass_movements")
    with op.batch_alter_table("mass_balances", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_mass_balances_firm_id_lot_id"))

    op.drop_table("mass_balances")


def _finite(table: str, *fields: str) -> list[sa.CheckConstraint]:
    return [
        sa.CheckConstraint(
            f"{field} > -1e300 AND {field} < 1e300", name=op.f(f"ck_{table}_{field}")
        )
        for field in fields
    ]


def _fill(connection: sa.Connection) -> None:
    """Enter every cut, tip and release on record, as the service would have."""
    meta = sa.MetaData()
    names = ("depots", "jobs", "loads", "hold_entries", "mass_movements", "mass_balances")
    tables = {
        name: sa.Table(name, meta, autoload_with=connection, resolve_fks=False) for name in names
    }
    for table in tables.values():
        # SQLite tells of ids and moments as of texts; they are read and written as what they are.
        for column in table.columns:
            if column.name == "id" or column.name.endswith("_id"):
                column.type = sa.Uuid()
    zones = {
        (row.firm_id, row.id): ZoneInfo(row.time_zone)
        for row in connection.execute(sa.select(tables["depots"]))
    }
    released = {
        (row.firm_id, row.load_id): row
        for row in connection.execute(
            sa.select(tables["hold_entries"]).where(tables["hold_entries"].c.state == "released")
        )
    }
    tipped: dict[tuple[UUID, UUID], list[tuple[Row, Row]]] = defaultdict(list)
    loads = tables["loads"]
    for row in connection.execute(
        sa.select(loads).where(loads.c.state.in_(["delivered", "partly_refused"]))
    ).mappings():
        for part in row["parts"]:
            tipped[row["firm_id"], UUID(part["job_id"])].append((row, part))
    jobs = connection.execute(sa.select(tables["jobs"])).mappings().all()
    for job in jobs:
        entries = [] if job["estimate"] is None else list(_entries(job, tipped, released))
        for entry in entries:
            zone = zones[job["firm_id"], job["depot_id"]]
            entry["day"] = entry["happened_at"].astimezone(zone).date()
        if entries:
            connection.execute(tables["mass_movements"].insert(), entries)
        balances = _balances(entries)
        if balances:
            connection.execute(tables["mass_balances"].insert(), balances)


def _entries(
    job: Row,
    tipped: Mapping[tuple[UUID, UUID], list[tuple[Row, Row]]],
    released: Mapping[tuple[UUID, UUID], Any],
) -> Iterator[dict[str, Any]]:
    vehicle, lawn = ("vehicle", job["vehicle_id"]), ("lawn", job["lawn_id"] or job["property_id"])
    if job["state"] == "mown" and job["clippings"] == "collected":
        yield _entry(job, 1.0, ("cut", job["id"]), (lawn, vehicle), _utc(job["cut_at"]))
    for load, part in tipped.get((job["firm_id"], job["id"]), []):
        kept, at = 1.0 - load["refused_share"], _utc(load["done_at"] or load["arrive_at"])
        share = part["share"] * kept
        body, place = (
            ("vehicle", load["vehicle_id"]),
            (
                load["destination_kind"],
                load["destination_id"],
            ),
        )
        if body != vehicle:
            yield _entry(job, share, ("taken_over", load["id"]), (vehicle, body), at)
        entry = _entry(job, share, ("tipped", load["id"]), (body, place), at)
        entry["status"] = load["status"]
        kept_kg = {end: load["mass_kg"][end] * kept for end in ENDS}
        weighed_kg = load["weighed_net_si_value"]
        if weighed_kg is not None and kept_kg["likely"] > 0 and _counts(load, weighed_kg, kept_kg):
            entry["weighed_kg"] = weighed_kg * entry["mass_likely_kg"] / kept_kg["likely"]
            entry["counted_kg"] = entry["weighed_kg"]
        yield entry
        hold = released.get((load["firm_id"], load["id"]))
        if hold is not None:
            out = _utc(hold.released_at or hold.updated_at)
            gone = ("elsewhere", hold.id)
            yield _entry(job, share, ("released", hold.id), (place, gone), out)


def _counts(load: Row, weighed_kg: float, kept_kg: Mapping[str, float]) -> bool:
    """Return whether a weight counts: not set aside, and accepted where it is doubtful."""
    is_near = (
        kept_kg["low"] / TIMES_BEYOND_ESTIMATE
        <= weighed_kg
        <= kept_kg["high"] * TIMES_BEYOND_ESTIMATE
    )
    review = load["ticket_review"]
    return bool(review == "accepted" or (review != "set_aside" and is_near))


def _entry(
    job: Row,
    share: float,
    cause: tuple[str, UUID],
    way: tuple[tuple[str, UUID], tuple[str, UUID]],
    at: datetime,
) -> dict[str, Any]:
    mass_kg, nitrogen_kg = _amounts_of(job)
    now = datetime.now(UTC)
    return {
        "firm_id": job["firm_id"],
        "id": uuid7(),
        "version": 1,
        "created_at": now,
        "updated_at": now,
        "cause": cause[0],
        "cause_id": cause[1],
        "lot_id": job["id"],
        "lot_code": job["lot_code"],
        "from_kind": way[0][0],
        "from_id": way[0][1],
        "to_kind": way[1][0],
        "to_id": way[1][1],
        "share": share,
        **{f"mass_{end}_kg": mass_kg[end] * share for end in ENDS},
        **{f"nitrogen_{end}_kg": nitrogen_kg[end] * share for end in ENDS},
        "counted_kg": mass_kg["likely"] * share,
        "weighed_kg": None,
        "status": job["status"],
        "happened_at": at,
        "depot_id": job["depot_id"],
        "corrects_id": None,
        "reason": REASON,
        "key_id": None,
    }


def _amounts_of(job: Row) -> tuple[dict[str, float], dict[str, float]]:
    """Return mass and nitrogen of a lot: as measured where it was, the rest in proportion."""
    estimate = job["estimate"]
    mass_kg = {end: estimate["mass_kg"][end] for end in ENDS}
    nitrogen_kg = {end: estimate["nitrogen_kg"][end] for end in ENDS}
    measured_kg, measured_m3 = job["measured_mass_si_value"], job["measured_volume_si_value"]
    if measured_kg:
        ratio = measured_kg / mass_kg["likely"]
        mass_kg = dict.fromkeys(ENDS, measured_kg)
    elif measured_m3:
        ratio = measured_m3 / estimate["volume_m3"]["likely"]
        mass_kg = {end: mass_kg[end] * ratio for end in ENDS}
    else:
        return mass_kg, nitrogen_kg
    return mass_kg, {end: nitrogen_kg[end] * ratio for end in ENDS}


def _balances(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    sums: dict[tuple[str, UUID], dict[str, float]] = defaultdict(
        lambda: dict.fromkeys(AMOUNTS, 0.0)
    )
    for entry in entries:
        for way, sign in (("from", -1.0), ("to", 1.0)):
            at = sums[entry[f"{way}_kind"], entry[f"{way}_id"]]
            for name in AMOUNTS:
                at[name] += sign * entry[name]
    return [
        {
            "firm_id": entries[0]["firm_id"],
            "place_kind": kind,
            "place_id": place_id,
            "lot_id": entries[0]["lot_id"],
            **at,
        }
        for (kind, place_id), at in sums.items()
        if abs(at["share"]) > NOTHING
    ]


def _utc(moment: datetime) -> datetime:
    """Return a moment with its zone: SQLite keeps none."""
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment

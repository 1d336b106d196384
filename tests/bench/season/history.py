"""A day lived through the use cases, and the days before it and firms beside, written in bulk."""

from datetime import date, datetime, timedelta
from uuid import UUID, uuid4

from sqlalchemy import insert, literal, select, text

from service.storage.repositories import place_sums
from service.storage.tables import Row
from tests.bench.service import street
from tests.firms import DAY, SIX

# What a day leaves; everything else is the firm's, and stays.
OF_A_DAY = (
    "day_plans",
    "working_days",
    "jobs",
    "loads",
    "weighed_loads",
    "mass_movements",
    "mass_balances",
    "hold_entries",
    "delivery_notes",
    "amendments",
)
# Their secrets stand once in a database.
OPENS_DOORS = {"api_keys", "sessions"}
ROWS_AT_ONCE = 2000
MS_A_DAY = 86_400_000
MOVED_BY_RANDOM_BITS = 80  # below the milliseconds of a UUIDv7 (RFC 9562, 5.7)


def lived(service):
    """Live a day of 200 jobs on which everything is tipped; return how many loads."""
    firm = service.firm
    firm.crews_cost(0)  # so that beds beside the lawns take their part, as where clients ask for it
    jobs, vehicles = service.sizes
    crews = [firm.crew(firm.vehicle(f"V{number:03}")) for number in range(vehicles)]
    for number in range(jobs // 50):
        firm.site(name=f"Site {number}", daily_capacity_kg=jobs * 150.0)
    lawns = []
    for number in range(jobs):
        lawn = firm.lawn(number, area_m2=300.0 + 37 * (number % 20), point=street(number))
        lawns.append(lawn)
        if number % 2 == 0:
            firm.bed(lawn, area_m2=20.0 + number % 60)
    service.lawns, service.crews = lawns, crews
    service.clock.at = SIX + timedelta(hours=6)
    service.sent("POST", "/jobs/batches", json={"jobs": jobs_of(service, SIX, mown=True)})
    wanted = {"depot_id": str(firm.depot_id), "day": DAY.isoformat()}
    service.sent("POST", "/day-plans", json=wanted)
    service.clock.at = SIX + timedelta(hours=11)
    loads = service.sent("GET", "/loads?state=planned&limit=200").json["items"]
    for number, load in enumerate(loads):
        done = {"state": "delivered", "done_at": load["arrive_at"]}
        if load["destination_kind"] == "compost_site" or number % 5 == 0:
            likely = load["mass_kg"]["likely"] * (0.9 + 0.02 * (number % 10))
            done |= {"weighed_net": {"value": round(likely), "unit": "kg"}}
            done |= {"weigh_ticket": f"W-{number}", "ticket_review": "accepted"}
        service.sent(
            "PATCH", f"/loads/{load['id']}", json=done, headers={"If-Match": f'"{load["version"]}"'}
        )
    for entry in service.sent("GET", "/hold-entries?state=in_bay&limit=200").json["items"]:
        out = {"state": "released", "released_to": "Hill Farm, on trailer 2"}
        service.sent(
            "PATCH",
            f"/hold-entries/{entry['id']}",
            json=out,
            headers={"If-Match": f'"{entry["version"]}"'},
        )
    service.noted = [load["id"] for load in loads if load["destination_kind"] == "bed"]
    for load_id in service.noted:
        service.sent("POST", f"/loads/{load_id}/delivery-notes")
    return len(loads)


def jobs_of(service, start, *, mown=False):
    """Return the bodies of a day's jobs."""
    return [
        {
            "lawn_id": str(lawn.id),
            "crew_id": str(crew.id),
            "vehicle_id": str(crew.vehicle_id),
            "state": "mown" if mown else "planned",
            ("cut_at" if mown else "planned_at"): at.isoformat(),
            "area_mowed": {"value": lawn.area.value, "unit": "m2"},
            "height_removed": {"value": 25, "unit": "mm"},
            "wetness": "dry",
            "treatment_history": "none_recorded",
        }
        for number, lawn in enumerate(service.lawns)
        for crew in [service.crews[number * len(service.crews) // len(service.lawns)]]
        for at in [start + timedelta(hours=1.5 + 0.6 * (number % 7))]
    ]


class History:
    """Days before the one that was lived: its rows, moved back."""

    def __init__(self, engine):
        """Read what the day left."""
        self._engine = engine
        self._kept = 1
        self._rows = {}
        with engine.connect() as connection:
            for name in OF_A_DAY:
                table = Row.metadata.tables[name]
                found = connection.execute(select(table)).mappings()
                self._rows[name] = [dict(row) for row in found]
        self._ids = {row["id"] for rows in self._rows.values() for row in rows if "id" in row}

    def reach(self, days):
        """Have so many days of history."""
        with self._engine.begin() as connection:
            for back in range(self._kept, days):
                for name in OF_A_DAY:
                    rows = [self._moved(row, back) for row in self._rows[name]]
                    for start in range(0, len(rows), ROWS_AT_ONCE):
                        some = rows[start : start + ROWS_AT_ONCE]
                        connection.execute(insert(Row.metadata.tables[name]), some)
            for (firm_id,) in connection.execute(select(Row.metadata.tables["firms"].c.id)):
                place_sums.keep_anew(connection, firm_id)
        self._kept = days
        analyzed(self._engine)

    def _moved(self, row, back):
        moved = {name: self._value(value, back) for name, value in row.items()}
        if moved.get("lot_code"):
            moved["lot_code"] = f"{moved['lot_code']}{back}"
        if "number" in moved:
            moved["number"] = f"{moved['number']}/{back}"
        return moved

    def _value(self, value, back):
        if isinstance(value, UUID):
            return self._id(value, back) if value in self._ids else value
        if isinstance(value, (datetime, date)):
            return value - timedelta(days=back)
        if isinstance(value, list) and value and isinstance(value[0], dict):
            return [
                {
                    name: str(self._id(UUID(inner), back)) if name == "job_id" else inner
                    for name, inner in member.items()
                }
                for member in value
            ]
        return value

    @staticmethod
    def _id(old, back):
        return UUID(int=old.int - (back * MS_A_DAY << MOVED_BY_RANDOM_BITS))


def today(service):
    """Begin the day after, planned, as the day on which requests are sent."""
    start = SIX + timedelta(days=1)
    service.clock.at = start - timedelta(hours=1)
    service.sent("POST", "/jobs/batches", json={"jobs": jobs_of(service, start)})
    service.jobs = jobs_of(service, start)
    service.today = start.date().isoformat()
    service.routing = f"/days/{service.today}/routing?depot_id={service.firm.depot_id}"
    service.sent("GET", service.routing)


def neighbours(service, count):
    """Have so many firms in all: each other one has the records of the first, under its own id."""
    mine = service.firm.caller.firm_id
    with service.engine.begin() as connection:
        firms = Row.metadata.tables["firms"]
        (row,) = connection.execute(select(firms).where(firms.c.id == mine)).mappings()
        others = [uuid4() for _ in range(count - 1)]
        connection.execute(insert(firms), [dict(row) | {"id": other} for other in others])
        for table in Row.metadata.sorted_tables:
            if "firm_id" not in table.columns or table.name in OPENS_DOORS:
                continue
            names = [column.name for column in table.columns]
            for other in others:
                columns = [
                    literal(other, column.type) if column.name == "firm_id" else column
                    for column in table.columns
                ]
                kept = select(*columns).where(table.c.firm_id == mine)
                connection.execute(insert(table).from_select(names, kept))
    analyzed(service.engine)


def analyzed(engine):
    """Have PostgreSQL look at its tables, as it does by itself after a while."""
    if engine.dialect.name == "postgresql":
        with engine.connect() as connection:
            connection.execute(text("ANALYZE"))
            connection.commit()

"""The requests that are measured."""

from datetime import datetime, timedelta

from tests.firms import DAY


def requests(service):
    """Yield the name of each request, how it is sent, and what must be done before each time."""
    firm = service.firm
    posts = iter(range(10_000))

    def post_job():
        # For another day: today has as many jobs each time, and costs as much to plan.
        number = next(posts) % len(service.jobs)
        later = timedelta(weeks=1 + number // len(service.jobs))
        job = service.jobs[number]
        at = (datetime.fromisoformat(job["planned_at"]) + later).isoformat()
        return service.sent("POST", "/jobs", json=job | {"planned_at": at})

    first = service.sent("GET", f"/jobs?depot_id={firm.depot_id}&day={service.today}&limit=1").json[
        "items"
    ][0]

    def amend_job():
        path = f"/jobs/{first['id']}"
        version = service.sent("GET", path).json["version"]
        changed = {"minutes_on_site": 20 + next(posts) % 5}
        service.sent("PATCH", path, json=changed, headers={"If-Match": f'"{version}"'})

    def get(path, **more):
        return lambda: service.sent("GET", path, **more)

    def unchanged():
        tag = {"If-None-Match": service.sent("GET", service.routing).headers["ETag"]}
        service.tagged = tag

    note = service.sent("GET", "/delivery-notes?limit=1").json["items"][0]["id"]
    lot = service.sent("GET", f"/jobs?crew_id={service.crews[0].id}&limit=1").json["items"][0]
    bed = service.sent("GET", "/loads?destination_kind=bed&limit=1").json["items"][0]
    yield "post a job", post_job, None
    yield "read, stale", get(service.routing), amend_job
    yield "read, fresh", get(service.routing), None
    yield (
        "read, 304",
        lambda: service.sent("GET", service.routing, headers=service.tagged),
        (unchanged),
    )
    yield (
        "ask for a note again",
        lambda: service.sent("POST", f"/loads/{service.noted[0]}/delivery-notes"),
        None,
    )
    yield "read a note", get(f"/delivery-notes/{note}"), None
    for path in (
        "/jobs?limit=50",
        f"/jobs?limit=50&crew_id={service.crews[-1].id}",
        "/jobs?limit=50&status=unknown",
        "/jobs?limit=50&state=planned",
        "/loads?limit=50&state=planned",
        "/loads?limit=50&destination_kind=hold_bay",
        f"/loads?limit=50&working_day={service.today}",
        f"/loads?limit=50&vehicle_id={service.crews[-1].vehicle_id}",
        "/day-plans?limit=50",
        "/delivery-notes?limit=50",
        "/hold-entries?state=in_bay",
        "/mass-movements?limit=50",
    ):
        yield short(path), get(path), None
    yield "day page", get("/screens/day", by=service.device), None
    yield (
        "day page, mark",
        get(f"/screens/day/mark?depot={firm.depot_id}&day={service.today}", by=service.device),
        None,
    )
    yield "hold queue", get(f"/hold-queue?depot_id={firm.depot_id}"), None
    yield "mass balances", get("/mass-balances"), None
    yield (
        "mass balance of a day",
        get(f"/days/{DAY.isoformat()}/mass-balance?depot_id={firm.depot_id}"),
        None,
    )
    yield "recall a lot", get(f"/recall?lot_code={lot['lot_code']}"), None
    yield (
        "recall a bed, 30 days",
        get(f"/recall?destination_id={bed['destination_id']}&since={DAY - timedelta(days=30)}"),
        None,
    )


def short(path):
    """Return a list's address without the ids in it."""
    plain, _, query = path.partition("?")
    told = [one for one in query.split("&") if not one.startswith("limit")]
    return f"{plain} {' '.join(one[:28] for one in told)}".strip()

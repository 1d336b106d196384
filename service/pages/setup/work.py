"""A day's work by hand: which lawns are mown on a day, by which crew; then the day is planned."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.crews import Crew
from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import MINUTES_ON_SITE, Job, JobState
from service.core.materials import TreatmentHistory
from service.core.places import Depot, Lawn, Point, Property
from service.core.quantities import Measure
from service.core.records import NOBODY, Identifiers
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.replanning import replanned
from service.pages.setup.filing import every
from service.pages.setup.screen import OFFICE, PLACE
from service.usecases.base.idempotency import (
    Answer,
    FirstTryUnfinished,
    KeyReusedForAnotherRequest,
)
from service.usecases.records.record_jobs import RowAnswer
from service.usecases.telling.day_look import DayLook

LONGEST_MINUTES: Final = 600
HEIGHT_MAX_MM: Final = 300
DAYS_AHEAD: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A lawn that can be put on somebody's list for a day."""

    lawn: Lawn
    place: Property
    client: str
    planned_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The lawns of a locality that nobody has on a list yet, and how much they are together."""

    name: str
    choices: tuple[Choice, ...]

    @property
    def area(self) -> Measure:
        """Return their area, in their unit if they have one in common."""
        areas = [one.lawn.area for one in self.choices]
        if len({area.unit for area in areas}) == 1:
            return Measure(value=sum(area.value for area in areas), unit=areas[0].unit)
        return Measure(value=sum(area.si_value for area in areas), unit="m2")


def work_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the form of a day's work."""
    routes = Blueprint("work", __name__)

    @routes.get(f"{PLACE}/work")
    @entrance.admits(*OFFICE)
    def show_work(sitting: Sitting) -> AnyResponse:
        depots = list(every(needs.library.depots, sitting.caller))
        if not depots:
            return redirect(PLACE, HTTPStatus.SEE_OTHER)
        return _work_page(needs, sitting.caller, _asked(depots, request.args))

    @routes.post(f"{PLACE}/work")
    @entrance.admits(*OFFICE)
    def keep_work(sitting: Sitting) -> AnyResponse:
        form, caller = Form(request.form), sitting.caller
        depot_id, day = form.identifier("depot"), form.day("day")
        key = form.text("key", required=True)
        minutes = form.number("minutes", low=1, high=LONGEST_MINUTES) or MINUTES_ON_SITE
        height_mm = form.number("height", low=0.5, high=HEIGHT_MAX_MM) or 0.0
        history = form.choice("history", (TreatmentHistory.UNKNOWN, TreatmentHistory.NONE_RECORDED))
        form.done()
        look = needs.look_at_day(caller, depot_id or NOBODY, day)
        lists = _lists(needs, caller, look.depot)
        if not lists:
            raise RecordNotUsable(
                [FieldFault(pointer="/crew", detail="Choose at least one lawn, and its crew.")]
            )
        rows = [
            {
                **_job(crew, lawn, at=at, minutes=round(minutes), height_mm=height_mm),
                "treatment_history": TreatmentHistory(history or TreatmentHistory.UNKNOWN),
            }
            for crew, lawns in lists.items()
            for lawn, at in zip(
                lawns, _times(look, len(lawns), minutes=round(minutes)), strict=True
            )
        ]
        chosen = [(crew, lawn) for crew, lawns in lists.items() for lawn in lawns]

        def kept(identifiers: Identifiers) -> Answer:
            answers = needs.record_jobs.create_many(
                caller, rows, identifiers=identifiers, together=True
            )
            _refuse(answers, chosen)
            return Answer(status=HTTPStatus.SEE_OTHER, headers={}, body=b"")

        _once(needs, caller, f"{sitting.session.id} {key}", kept)
        replanned(needs, caller, look.depot.id, look.day)
        return redirect(
            f"/screens/day?depot={look.depot.id}&day={look.day.isoformat()}", HTTPStatus.SEE_OTHER
        )

    return routes


def _once(
    needs: Needs, caller: Caller, key: str, make_answer: Callable[[Identifiers], Answer]
) -> None:
    """Keep the work of one form once, however often it is sent. Raises whatever refuses it."""
    body = urlencode(list(request.form.items(multi=True))).encode()
    try:
        needs.answer_once(
            caller, key=key, request=body, make_answer=make_answer, keep_refusals=False
        )
    except FirstTryUnfinished as refusal:
        raise _form_fault("This form is being kept. Look at the day before you go on.") from refusal
    except KeyReusedForAnotherRequest as refusal:
        detail = "This form was kept already as it was before. Open the page anew for more work."
        raise _form_fault(detail) from refusal


def _form_fault(detail: str) -> RecordNotUsable:
    return RecordNotUsable([FieldFault(pointer="/key", detail=detail)])


def _refuse(answers: Sequence[RowAnswer], chosen: Sequence[tuple[Crew, Lawn]]) -> None:
    """Tell every lawn that cannot be kept, and why. Raises RecordNotUsable."""
    faults = []
    for answer, (crew, lawn) in zip(answers, chosen, strict=True):
        if answer.refusal is not None:
            whys = getattr(answer.refusal, "faults", (answer.refusal,))
            said = " ".join(getattr(why, "detail", str(why)) for why in whys)
            detail = f"{lawn.name}, {crew.name}: {said}"
            faults.append(FieldFault(pointer=f"/crew-{lawn.id}", detail=detail))
    if faults:
        raise RecordNotUsable(faults)


def _asked(depots: Sequence[Depot], said: Mapping[str, str]) -> tuple[UUID, date | None]:
    form = Form(said)
    depot_id = form.identifier("depot") if "depot" in said else depots[0].id
    day = form.day("day") if "day" in said else None
    form.done()
    return depot_id or depots[0].id, day


def _work_page(needs: Needs, caller: Caller, asked: tuple[UUID, date | None]) -> Response:
    depot_id, day = asked
    look = needs.look_at_day(caller, depot_id, day)
    if day is None and look.now.time() > look.depot.shift_ends:
        look = needs.look_at_day(caller, depot_id, look.today + timedelta(days=1))
    crews = [crew for crew in look.crews if crew.vehicle_id is not None]
    choices = _choices(needs, caller, look)
    return page(
        "setup_work.html.j2",
        look=look,
        crews=crews,
        idle=[crew for crew in look.crews if crew.vehicle_id is None],
        choices=choices,
        groups=_groups(choices),
        days=[look.today + timedelta(days=ahead) for ahead in range(DAYS_AHEAD)],
        minutes=MINUTES_ON_SITE,
        key=needs.new_key(),
    )


def _choices(needs: Needs, caller: Caller, look: DayLook) -> list[Choice]:
    library = needs.library
    places = {one.id: one for one in every(library.properties, caller)}
    clients = {one.id: one.name for one in every(library.clients, caller)}
    crews = {crew.id: crew.name for crew in look.crews}
    planned = {
        job.lawn_id: crews.get(job.crew_id, "another yard") for job in _jobs_of(needs, caller, look)
    }
    found = [
        Choice(
            lawn=lawn,
            place=places[lawn.property_id],
            client=clients[places[lawn.property_id].client_id],
            planned_by=planned.get(lawn.id),
        )
        for lawn in every(library.lawns, caller)
    ]
    return sorted(found, key=lambda one: (one.place.locality, one.client, one.place.address))


def _groups(choices: Sequence[Choice]) -> list[Group]:
    """Return what is left to choose, by locality: a list of all is taller than ten telephones."""
    found: dict[str, list[Choice]] = {}
    for one in choices:
        if one.planned_by is None:
            found.setdefault(one.place.locality or "Elsewhere", []).append(one)
    return [Group(name=name, choices=tuple(group)) for name, group in found.items()]


def _jobs_of(needs: Needs, caller: Caller, look: DayLook) -> list[Job]:
    """Return the jobs of a day that are on record."""
    of_day = every(needs.record_jobs, caller, depot_id=look.depot.id, day=look.day)
    return [job for job in of_day if job.state is not JobState.CANCELLED]


def _lists(needs: Needs, caller: Caller, depot: Depot) -> dict[Crew, list[Lawn]]:
    """Return each crew's lawns, the nearest next to the one before, from the yard on.

    Straight lines, one step at a time: common practice, no source. The planner then has its say on
    where to tip, and the crew on the order.
    """
    form = Form(request.form)
    places = {one.id: one for one in every(needs.library.properties, caller)}
    lawns = {str(one.id): one for one in every(needs.library.lawns, caller)}
    crews = {str(one.id): one for one in every(needs.library.crews, caller)}
    chosen: dict[str, list[Lawn]] = {}
    for key, lawn in lawns.items():
        crew_id = form.choice(f"crew-{key}", tuple(crews), required=False)
        if crew_id:
            chosen.setdefault(crew_id, []).append(lawn)
    form.done()
    lists = {}
    for crew_id, left in chosen.items():
        here, ordered = depot.point, []
        while left:
            near = min(left, key=lambda one: _apart(here, places[one.property_id].point))
            left.remove(near)
            ordered.append(near)
            here = places[near.property_id].point
        lists[crews[crew_id]] = ordered
    return lists


def _apart(one: Point, other: Point) -> float:
    """Return how far two points are apart, in degrees of latitude: only the order counts."""
    shrink = math.cos(math.radians((one.latitude + other.latitude) / 2))
    return math.hypot(one.latitude - other.latitude, (one.longitude - other.longitude) * shrink)


def _times(look: DayLook, count: int, *, minutes: int) -> list[datetime]:
    """Return when a crew's lawns are planned, one after the other from the morning, or from now."""
    zone = ZoneInfo(look.depot.time_zone)
    first = datetime.combine(look.day, look.depot.shift_starts, tzinfo=zone)
    if look.day == look.today:
        first = max(first, look.now.replace(second=0, microsecond=0))
    return [first + timedelta(minutes=minutes * number) for number in range(count)]


def _job(crew: Crew, lawn: Lawn, *, at: datetime, minutes: int, height_mm: float) -> dict[str, Any]:
    return {
        "lawn_id": lawn.id,
        "crew_id": crew.id,
        "vehicle_id": crew.vehicle_id,
        "state": JobState.PLANNED,
        "planned_at": at,
        "minutes_on_site": minutes,
        "area_mowed": lawn.area,
        "height_removed": Measure(value=height_mm, unit="mm"),
        "grass_kind": lawn.grass_kind,
    }

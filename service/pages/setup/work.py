"""A day's work by hand: which lawns are mown on a day, by which crew; then the day is planned."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.crews import Crew
from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import MINUTES_ON_SITE, Job, JobState
from service.core.materials import TreatmentHistory
from service.core.measures.quantities import Measure
from service.core.places import Depot, Lawn, Point, Property
from service.core.records import NOBODY, Identifiers
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.once import KEY, once
from service.pages.rendering import page
from service.pages.replanning import replanned
from service.pages.setup.filing import every
from service.pages.setup.screen import OFFICE, PLACE
from service.usecases.base.idempotency import Answer
from service.usecases.records.record_jobs import RowAnswer
from service.usecases.telling.day_look import DayLook

LONGEST_MINUTES: Final = 600
HEIGHT_MAX_MM: Final = 300
CREW: Final = "crew-"
# What a lawn's field says that leaves it to its group: the name of the group's field.
GROUP: Final = "all-"
NOT_THAT_DAY: Final = "none"
DAYS_AHEAD: Final = 8
MOST_IN_A_FOLD: Final = 12
_UNUSABLE: Final = HTTPStatus(422)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A lawn that can be put on somebody's list for a day."""

    lawn: Lawn
    place: Property
    client: str
    planned_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Some lawns of a locality that nobody has on a list yet, and how much they are together."""

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
        caller = sitting.caller
        depot_id, day = _asked(depots, request.args)
        look = needs.look_at_day(caller, depot_id, day)
        if day is None and look.now.time() > look.depot.shift_ends:
            look = needs.look_at_day(caller, depot_id, look.today + timedelta(days=1))
        return _work_page(needs, caller, look)

    @routes.post(f"{PLACE}/work")
    @entrance.admits(*OFFICE)
    def keep_work(sitting: Sitting) -> AnyResponse:
        depot_id, day, key = _form_of()
        look = needs.look_at_day(sitting.caller, depot_id, day)
        try:
            return kept_work(sitting, look, key)
        except RecordNotUsable as refusal:
            if any(fault.pointer == KEY for fault in refusal.faults):
                raise  # the form itself is what cannot be sent again
            return _work_page(needs, sitting.caller, look, faults=refusal.faults)

    def kept_work(sitting: Sitting, look: DayLook, key: str) -> AnyResponse:
        form, caller = Form(request.form), sitting.caller
        minutes = form.number("minutes", low=1, high=LONGEST_MINUTES) or MINUTES_ON_SITE
        height = form.measure("height", unit="mm", low=0.5, high=HEIGHT_MAX_MM)
        history = form.choice("history", (TreatmentHistory.UNKNOWN, TreatmentHistory.NONE_RECORDED))
        form.done()
        lists = _lists(needs, caller, look.depot)
        if not lists:
            raise RecordNotUsable(
                [FieldFault(pointer="/crew", detail="Choose at least one lawn, and its crew.")]
            )
        rows = [
            {
                **_job(crew, lawn, at=at, minutes=round(minutes), height=height),
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

        once(needs, sitting, key, kept)
        replanned(needs, caller, look.depot.id, look.day)
        return redirect(
            f"/screens/day?depot={look.depot.id}&day={look.day.isoformat()}", HTTPStatus.SEE_OTHER
        )

    return routes


def _refuse(answers: Sequence[RowAnswer], chosen: Sequence[tuple[Crew, Lawn]]) -> None:
    """Tell every lawn that cannot be kept, and why. Raises RecordNotUsable."""
    faults = []
    for answer, (crew, lawn) in zip(answers, chosen, strict=True):
        if answer.refusal is not None:
            whys = getattr(answer.refusal, "faults", (answer.refusal,))
            said = " ".join(getattr(why, "detail", str(why)) for why in whys)
            detail = f"{lawn.name}, {crew.name}: {said}"
            faults.append(FieldFault(pointer=f"/{CREW}{lawn.id}", detail=detail))
    if faults:
        raise RecordNotUsable(faults)


def _asked(depots: Sequence[Depot], said: Mapping[str, str]) -> tuple[UUID, date | None]:
    form = Form(said)
    depot_id = form.identifier("depot") if "depot" in said else depots[0].id
    day = form.day("day") if "day" in said else None
    form.done()
    return depot_id or depots[0].id, day


def _form_of() -> tuple[UUID, date | None, str]:
    """Return what a form is of, and its key. Raises RecordNotUsable."""
    form = Form(request.form)
    depot_id, day, key = form.identifier("depot"), form.day("day"), form.text("key", required=True)
    form.done()
    return depot_id or NOBODY, day, key or ""


def _work_page(
    needs: Needs, caller: Caller, look: DayLook, *, faults: Sequence[FieldFault] = ()
) -> Response:
    """Return the form, empty or as it was sent with what is wrong in it."""
    crews = [crew for crew in look.crews if crew.vehicle_id is not None]
    choices = _choices(needs, caller, look)
    return page(
        "setup_work.html.j2",
        status=_UNUSABLE if faults else HTTPStatus.OK,
        faults=faults,
        said=request.form,
        chosen={
            name.removeprefix(CREW)
            for name, crew in request.form.items()
            if crew and not crew.startswith(GROUP)
        },
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
    return sorted(found, key=lambda one: (one.place.locality, _along(one.place), one.lawn.name))


def _along(place: Property) -> tuple[str, int, str]:
    """Return where a place comes in a list: neighbours together, for they go to one crew."""
    number = re.match(r"\d+", place.address)
    street = place.address.lstrip(" 0123456789")
    return street, int(number[0]) if number else 0, place.name


def _groups(choices: Sequence[Choice]) -> list[Group]:
    """Return what is left to choose, by locality, and a dozen at a time.

    A list of all is taller than ten telephones, and that of one town than four.
    """
    found: dict[str, list[Choice]] = {}
    for one in choices:
        if one.planned_by is None:
            found.setdefault(one.place.locality or "Elsewhere", []).append(one)
    return [
        Group(name=_named(name, part, of=len(group)), choices=part)
        for name, group in found.items()
        for part in (
            tuple(group[first : first + MOST_IN_A_FOLD])
            for first in range(0, len(group), MOST_IN_A_FOLD)
        )
    ]


def _named(locality: str, choices: Sequence[Choice], *, of: int) -> str:
    """Return what a fold is called: its locality, and if that has several, from where to where."""
    if of == len(choices):
        return locality
    return f"{locality}, {choices[0].place.name} to {choices[-1].place.name}"


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
        said = request.form.get(f"{CREW}{key}", "")
        field = said if said.startswith(GROUP) else f"{CREW}{key}"
        crew_id = form.choice(field, (*crews, NOT_THAT_DAY), required=False)
        if crew_id in crews:
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


def _job(
    crew: Crew, lawn: Lawn, *, at: datetime, minutes: int, height: Measure | None
) -> dict[str, Any]:
    return {
        "lawn_id": lawn.id,
        "crew_id": crew.id,
        "vehicle_id": crew.vehicle_id,
        "state": JobState.PLANNED,
        "planned_at": at,
        "minutes_on_site": minutes,
        "area_mowed": lawn.area,
        "height_removed": height,
        "grass_kind": lawn.grass_kind,
    }

"""A crew's round as its telephone shows it: one card a stop, the next one first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.callers.sessions import Session
from service.core.crews import Crew, Vehicle
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.materials import LotStatus, TreatmentHistory, Wetness
from service.core.places import Bed, CompostSite, DestinationKind, Property
from service.destinations.lawn import TAKEN, SeenThere
from service.documents.rendering.reader import Reader
from service.pages.forms import Form
from service.pages.needs import Needs
from service.usecases.day.lawn_hours import CODE as OUTSIDE_HOURS
from service.usecases.day.lawn_hours import NOT_THAT_DAY
from service.usecases.day.told_routing import told_vehicle
from service.usecases.telling.before_mowing.by_plan import by_plan
from service.usecases.telling.before_mowing.keep_off import CODE as KEPT_OFF
from service.usecases.telling.before_mowing.lawn_question import Said
from service.usecases.telling.before_mowing.mixing import AS_PLANNED
from service.usecases.telling.before_mowing.what_to_do import HOLD, SAYS_AS_MUCH, what_to_do
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.in_language import for_crew, sentence_of
from service.usecases.telling.routing.cautions import TIP_A_PART
from service.usecases.telling.stops import is_past_keeping, stops_ahead
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.lots import LEAVE
from service.usecases.telling.warnings.on_the_way import CODE as DO_NOT_TIP

Members = Mapping[str, Any]

ASKED_AHEAD: Final = 6
NOT_SPRAYED: Final = "not_sprayed"
# Warnings that a crew reads where it mows.
OF_A_LAWN: Final = (KEPT_OFF, OUTSIDE_HOURS, NOT_THAT_DAY)
MOST_NOTES: Final = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One stop, with what is asked and shown there.

    ``answer`` is a word, ``to_do`` its sentence, ``reason`` and ``by_plan`` why, and what the plan
    does with it; ``cautions`` go before everything.
    """

    told: Members
    answer: str | None = None
    to_do: str | None = None
    reason: str | None = None
    by_plan: str | None = None
    cautions: tuple[str, ...] = ()
    job: Job | None = None
    place: Property | None = None
    site: CompostSite | None = None
    note: str | None = None
    is_sour: bool = False

    @property
    def is_a_part(self) -> bool:
        """Whether the plan tips a part of what is aboard there, and keeps the rest."""
        return any(one["code"] == TIP_A_PART for one in self.told.get("cautions", ()))

    @property
    def kind(self) -> str:
        """What happens there: a job, a drop or a load forked over."""
        found: str = self.told["kind"]
        return found

    @property
    def about(self) -> str:
        """The id of the load, job or held entry it is about."""
        names = ("load_id", "job_id", "hold_entry_id")
        return next((str(self.told[name]) for name in names if name in self.told), self.told["at"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """A crew, its vehicle and its day."""

    crew: Crew
    vehicle: Vehicle | None
    look: DayLook
    told: Members | None
    cards: tuple[Card, ...]
    done: tuple[Members, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """Whose round a session is shown."""

    crew: Crew
    look: DayLook

    @property
    def told(self) -> Members | None:
        """How the newest plan tells the vehicle that the crew is in; None if it does not.

        That is its usual one, or else the first that the day's jobs name it for.
        """
        return told_vehicle(self.look.plan, vehicle_id=self.crew.vehicle_id, crew_id=self.crew.id)

    @property
    def vehicle_id(self) -> UUID | None:
        """The vehicle that the crew is in."""
        told = self.told
        return self.crew.vehicle_id if told is None else UUID(told["vehicle_id"])

    @property
    def reader(self) -> Reader:
        """Who reads it: a person's own language goes before the browser's."""
        return Reader(self.crew.language)

    def says(self, told: Members) -> str:
        """Return the sentence of what is told with its facts, with lots by the lawns they are of.

        A crew knows its lawns; a lot that was cut on none of today's goes by its code.
        """
        lots = (told.get("facts") or {}).get("lots")
        if lots and self.told is not None:
            stops = (stop for stop in self.told["stops"] if stop["kind"] == "job")
            lawns = {stop["lot_code"]: stop["property"] for stop in stops}
            named = list(dict.fromkeys(lawns.get(code, code) for code in lots))
            told = {**told, "facts": {**told["facts"], "lots": named}}
        return said_to(self.reader, told)

    @property
    def warnings(self) -> Sequence[Members]:
        """What the newest plan warns of, of this vehicle or of a job in it."""
        if self.look.plan is None:
            return ()
        routing: Any = self.look.plan.routing
        own = str(self.vehicle_id)
        return [one for one in routing["warnings"] if one.get("vehicle_id") == own]


def crew_of(needs: Needs, session: Session) -> Crew:
    """Return whose round it is. Raises RecordMissing."""
    if session.crew_id is None:
        raise RecordMissing(record="crew", id="none")
    crew: Crew = needs.library.crews.read(session.caller, session.crew_id)
    return crew


def scope_of(needs: Needs, session: Session) -> Scope:
    """Return whose round it is, and the day as it was last planned. Raises RecordMissing."""
    crew = crew_of(needs, session)
    return Scope(crew=crew, look=needs.look_at_day(session.caller, crew.depot_id))


def round_of(needs: Needs, caller: Caller, scope: Scope) -> Round:
    """Return the round with everything its telephone needs where there is no signal."""
    vehicle_id = scope.vehicle_id
    vehicle = None if vehicle_id is None else needs.library.vehicles.read(caller, vehicle_id)
    stops: Sequence[Members] = () if scope.told is None else scope.told["stops"]
    maker = _Cards(needs, caller, scope, stops_ahead(stops))
    return Round(
        crew=scope.crew,
        vehicle=vehicle,
        look=scope.look,
        told=scope.told,
        cards=tuple(maker.card(number, stop) for number, stop in enumerate(maker.ahead)),
        done=tuple(stop for stop in stops if stop not in maker.ahead),
        warnings=tuple(said_to(scope.reader, warning) for warning in for_crew(scope.warnings)),
    )


def said_to(reader: Reader, told: Members) -> str:
    """Return the sentence of what has a code and facts; in English where it has none yet."""
    english = told.get("sentence") or told.get("why") or told.get("caution") or ""
    return sentence_of(told, reader.code) or str(english)


def plan_to(scope: Scope, told: Members, *, to_do: Members, reason: str | None) -> str:
    """Return in one line what the plan does with a lot; what is told above it already is left."""
    told_above = SAYS_AS_MUCH.get(to_do["code"]) if len(told["tips"]) <= 1 else None
    said = [scope.says(one) for one in told["says"] if one["code"] != told_above]
    return " ".join(sentence for sentence in said if sentence != reason)


def reason_to(scope: Scope, answer: Members) -> str | None:
    """Return the one reason of an answer; where the plan says who takes it, that is the reason."""
    is_said_by_plan = answer["code"] == TAKEN and answer["plan"]["tips"]
    return None if is_said_by_plan else scope.says(answer)


def spoils_to(scope: Scope, answer: Members) -> tuple[str, ...]:
    """Return what bagging a lot would spoil, or what would spoil it, against the plan."""
    mixing = answer["plan"]["mixing"]
    is_asked = mixing is not None and answer["answer"] != LEAVE and mixing["code"] != AS_PLANNED
    return (scope.says(mixing),) if is_asked else ()


def said_of(form: Form) -> Said:
    """Return what a crew sees before the first cut; what it does not say, the planned job does."""
    wetness = form.choice("wetness", tuple(Wetness), required=False)
    return Said(
        wetness=None if wetness is None else Wetness(wetness),
        weeds_in_seed=form.flag("weeds_in_seed") or None,
        disease_seen=form.flag("disease_seen") or None,
        treatment_history=TreatmentHistory.NONE_RECORDED if form.flag(NOT_SPRAYED) else None,
        seen=SeenThere(
            ground_wet=form.flag("ground_wet") or None, drought=form.flag("drought") or None
        ),
    )


class _Cards:
    """Makes cards; what several stops share is read once."""

    def __init__(
        self, needs: Needs, caller: Caller, scope: Scope, ahead: Sequence[Members]
    ) -> None:
        self._needs = needs
        self._caller = caller
        self._scope = scope
        self._reader = scope.reader
        routing: Any = {} if scope.look.plan is None else scope.look.plan.routing
        self._lots = {lot["job_id"]: lot for lot in routing.get("lots", ())}
        ids = [UUID(stop["job_id"]) for stop in ahead if stop["kind"] == "job"]
        self._jobs = {job_id: needs.record_jobs.read(caller, job_id) for job_id in ids}
        # A plan lags: what is on record as mown is no card on whatever telephone joins meanwhile.
        self.ahead = [stop for stop in ahead if not self._is_said(stop)]
        asked = (
            self._jobs[UUID(stop["job_id"])]
            for stop in self.ahead[:ASKED_AHEAD]
            if stop["kind"] == "job" and not stop["leave_on_lawn"]
        )
        self._answers = needs.pre_mow_check.of_lawns(
            caller,
            {job.lawn_id for job in asked if job.lawn_id and job.state is JobState.PLANNED},
            depot_id=scope.crew.depot_id,
        )

    def _is_said(self, stop: Members) -> bool:
        if stop["kind"] != "job":
            return False
        return self._jobs[UUID(stop["job_id"])].state is not JobState.PLANNED

    def card(self, number: int, stop: Members) -> Card:
        """Return the card of a stop."""
        if stop["kind"] == "job":
            return self._of_job(number, stop)
        if stop["kind"] == "drop":
            is_sour = is_past_keeping(stop, self._scope.look.now)
            return replace(self._of_drop(stop), is_sour=is_sour)
        caution = said_to(self._reader, {**stop, "code": stop["kind"]})
        return Card(told=stop, cautions=(caution,) if caution else ())

    def _of_job(self, number: int, stop: Members) -> Card:
        job = self._jobs[UUID(stop["job_id"])]
        place = self._needs.library.properties.read(self._caller, job.property_id)
        answer, reason, asked = self._answer(number, stop, job)
        by_plan_of_job, to_do = self._plan(job, answer, asked)
        cautions = tuple(
            said_to(self._reader, warning)
            for warning in self._scope.warnings
            if warning["code"] in OF_A_LAWN and warning["job_id"] == stop["job_id"]
        )
        mixing = spoils_to(self._scope, asked) if asked else ()
        many = asked["plan"]["many_loads"] if asked else None
        mixing = (*(() if many is None else (self._scope.says(many),)), *mixing)
        return Card(
            told=stop,
            job=job,
            place=place,
            answer=answer,
            to_do=said_to(self._reader, to_do),
            reason=reason,
            by_plan=plan_to(self._scope, by_plan_of_job, to_do=to_do, reason=reason),
            cautions=(*cautions, *mixing),
        )

    def _plan(self, job: Job, answer: str, asked: Members | None) -> tuple[Members, Members]:
        """Return what the plan does with a job's clippings, and what the crew does in a word."""
        if asked is not None:
            return asked["plan"], asked["what_to_do"]
        look = self._scope.look
        told = by_plan(look.plan, job.id, is_current=look.is_current)
        lot = self._lots.get(str(job.id)) or {}
        # What a plan does not tell is not known, and unknown is never clean.
        status = LotStatus(lot.get("status", LotStatus.UNKNOWN))
        return plain(told), plain(what_to_do(answer, status, told))

    def _answer(
        self, number: int, stop: Members, job: Job
    ) -> tuple[str, str | None, Members | None]:
        """Return whether the crew may bag there, the one reason, and all of it if it was asked."""
        lot = self._lots.get(str(job.id)) or {}
        if stop["leave_on_lawn"]:
            english = stop["leave_on_lawn"]
            said = (lot.get("needs_attention"), lot.get("advice"), {"sentence": english})
            told = next(one for one in said if one and one["sentence"] == english)
            return LEAVE, said_to(self._reader, told), None
        if job.lawn_id is None or job.state is not JobState.PLANNED or number >= ASKED_AHEAD:
            return HOLD if lot.get("outcome") == "hold" else "collect", None, None
        asked = self._answers[job.lawn_id]
        return str(asked["answer"]), reason_to(self._scope, asked), asked

    def _of_drop(self, stop: Members) -> Card:
        library, place_id = self._needs.library, UUID(stop["destination_id"])
        forbidden = [
            one
            for one in self._scope.warnings
            if one["code"] == DO_NOT_TIP and one["load_id"] == stop["load_id"]
        ]
        words = forbidden or stop.get("cautions", ())
        cautions = tuple(said_to(self._reader, one) for one in words)
        if stop["destination_kind"] == DestinationKind.COMPOST_SITE:
            site = library.compost_sites.read(self._caller, place_id)
            return Card(told=stop, site=site, cautions=cautions)
        if stop["destination_kind"] != DestinationKind.BED:
            return Card(told=stop, cautions=cautions)
        bed: Bed = library.beds.read(self._caller, place_id)
        place = library.properties.read(self._caller, bed.property_id)
        notes = self._needs.papers.delivery_notes.page(
            self._caller, filters={"load_id": UUID(stop["load_id"])}, limit=MOST_NOTES
        ).records
        newest = max(notes, key=lambda note: note.issued_at, default=None)
        link = None if newest is None else self._needs.note_link(newest.id)
        return Card(told=stop, place=place, note=link, cautions=cautions)

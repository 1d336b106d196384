"""Make the invented world: wire the use cases to the demo's clock, and let the day happen."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from types import TracebackType
from typing import Any, Final, Self, cast
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Engine

from service.api.application import UseCases
from service.bootstrap import build_use_cases
from service.core.callers.access import Caller, Role
from service.core.plans import DayPlan
from service.core.records import Identifiers
from service.demo import afternoon, history, morning
from service.demo.books import keep_early, keep_rest, open_books
from service.demo.clock import ClockIdentifiers, DemoClock, same_tails
from service.demo.papers import issue_morning_papers, issue_next_paper
from service.demo.story import DEPOT, FIRM, FORGOTTEN, GATES
from service.planning.arrays.compiled import is_plain
from service.planning.model.stop_rule import StopRule
from service.settings import Settings
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.records.callers.api_keys import KeepKeys, KeyOf, NewKey
from service.usecases.records.callers.found_firm import FoundFirm

BOOKS_OPENED: Final = timedelta(days=40)
STORY_SEED: Final = "Quadlethorpe"
# Until the planner's machine code is there, the demo is content with first plans, and looks for no
# runners-up.
FIRST_PLAN: Final = StopRule(first=True, explain_labels=0)

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """What somebody who wants to look around must know."""

    firm_id: UUID
    depot_id: UUID
    day: date
    plan: DayPlan
    open_note_id: UUID
    forgotten_lawn_id: UUID
    crew_id: UUID
    vehicle_id: UUID
    site_id: UUID
    now: datetime
    secret: str = field(repr=False)
    other_secrets: dict[Role, str] = field(default_factory=dict, repr=False)
    troubles: tuple[str, ...] = ()


class Joined:
    """Stands in for a unit of work inside a larger one: its commit waits for the end."""

    def __init__(self, unit: UnitOfWork) -> None:
        """Take the larger unit of work, already entered."""
        self._unit = unit

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - repositories of every kind
        """Return what the larger unit of work has."""
        return getattr(self._unit, name)

    def __enter__(self) -> Self:
        """Begin nothing: the larger one has begun."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End nothing: the larger one will."""

    def commit(self) -> None:
        """Leave it to the larger one."""


def joining(unit: UnitOfWork) -> OpenUnitOfWork:
    """Return an opener of units of work that all take part in this one."""
    joined = cast("UnitOfWork", Joined(unit))
    return lambda: joined


def moment_of(day: date, at: time = morning.NOW) -> datetime:
    """Return the demo's "now" on a day: eleven o'clock at the depot, if no other is named."""
    return datetime.combine(day, at, tzinfo=ZoneInfo(DEPOT.time_zone))


def serving_use_cases(settings: Settings, engine: Engine, clock: DemoClock) -> UseCases:
    """Return the use cases for whoever asks over HTTP."""
    return build_use_cases(
        settings,
        writing=unit_of_work_opener(engine),
        reading=reading_opener(engine),
        clock=clock,
        identifiers=ClockIdentifiers(clock, make_tail=secrets.token_bytes),
        stop=lambda: FIRST_PLAN if is_plain() else StopRule(seconds=settings.plan_seconds),
    )


def other_keys(
    opener: OpenUnitOfWork,
    firm_id: UUID,
    *,
    clock: DemoClock,
    identifiers: Identifiers,
    crew_id: UUID,
) -> dict[Role, str]:
    """Return the secret of an owner's, a crew's and another program's key, made for one run."""
    named = {Role.OWNER: None, Role.CREW: crew_id, Role.INTEGRATOR: None}
    return {
        role: new_key(
            opener, firm_id, clock=clock, identifiers=identifiers, role=role, crew_id=crew
        ).secret
        for role, crew in named.items()
    }


def new_key(
    opener: OpenUnitOfWork,
    firm_id: UUID,
    *,
    clock: DemoClock,
    identifiers: Identifiers,
    role: Role = Role.DISPATCHER,
    crew_id: UUID | None = None,
) -> NewKey:
    """Return a role's key, made for one run of the demo."""
    keep_keys = KeepKeys(
        open_unit_of_work=opener,
        open_reading=opener,
        clock=clock,
        identifiers=identifiers,
        make_secret=secrets.token_urlsafe,
    )
    return keep_keys.make(
        firm_id, KeyOf(role=role, name=f"the demo's {role.value}", crew_id=crew_id)
    )


def make_world(
    settings: Settings,
    engine: Engine,
    *,
    clock: DemoClock,
    day: date,
    tell: Tell,
    until: time = morning.NOW,
) -> World:
    """Keep the invented firm, its past and its morning in one transaction.

    Parameters
    ----------
    engine
        Of a migrated database without a firm.
    clock
        Stands at the demo's "now" afterwards.
    day
        The day to play.
    tell
        Hears of each step when it is done.
    until
        The hour the day is played to, eleven or later.
    """
    noon = moment_of(day)
    clock.move_to(noon - BOOKS_OPENED)
    identifiers = ClockIdentifiers(clock, make_tail=same_tails(STORY_SEED))
    with unit_of_work_opener(engine)() as unit:
        opener = joining(unit)
        founded = FoundFirm(open_unit_of_work=opener, clock=clock, identifiers=identifiers)(
            name=FIRM.name,
            address=FIRM.address,
            phone=FIRM.phone,
            currency=FIRM.currency,
        )
        key = new_key(opener, founded.id, clock=clock, identifiers=identifiers)
        books = open_books(
            build_use_cases(
                settings,
                writing=opener,
                reading=opener,
                clock=clock,
                identifiers=identifiers,
                stop=FIRST_PLAN,
            ),
            clock=clock,
            caller=Caller(firm_id=founded.id, key_id=key.key.id, role=key.key.role),
            noon=noon,
        )
        keep_early(books)
        history.keep_past_rounds(books)
        books.keep_hold_bay()
        history.keep_littered_lot(books)
        keep_rest(books)
        forgotten = books.keep_lawn(FORGOTTEN)
        history.keep_treatments(books)
        tell(
            f"{len(books.crews)} crews, {len(books.lawns)} lawns, {len(books.beds)} beds, "
            f"{len(books.sites)} compost sites and what came before"
        )
        morning.post_at_dawn(books)
        tell("the first jobs posted at a quarter past six")
        dawn = morning.plan_dawn(books)
        tell("the day planned at half past six")
        morning.drive_until_now(books, dawn)
        morning.hear_from_sites(books)
        morning.post_later(books)
        answered = issue_morning_papers(books)
        clock.move_to(noon)
        tell("driven until eleven, with notes and calls and the other jobs posted")
        plan = morning.plan_now(books)
        open_note = issue_next_paper(books, answered)
        tell("the day planned again")
        troubles: list[str] = []
        if until > morning.NOW:
            plan, troubles = afternoon.drive_until(books, plan, books.at(until))
            clock.move_to(books.at(until))
            tell(f"driven until {until:%H:%M}, and what happened answered")
        crew_id = books.crews["Robin"].id
        others = other_keys(
            opener, founded.id, clock=clock, identifiers=identifiers, crew_id=crew_id
        )
        unit.commit()
    return World(
        firm_id=founded.id,
        depot_id=books.depot.id,
        day=day,
        plan=plan,
        open_note_id=open_note.id,
        forgotten_lawn_id=forgotten.id,
        crew_id=crew_id,
        vehicle_id=books.vehicles["Robin"].id,
        site_id=books.sites[GATES[0].name].id,
        now=moment_of(day, until),
        secret=key.secret,
        other_secrets=others,
        troubles=tuple(troubles),
    )

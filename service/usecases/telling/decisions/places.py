"""What places ask somebody to do: words grown old, gates that shut too soon, papers that end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from uuid import UUID

from service.core.acceptance.live_status import SiteState
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.measures.units import date_words
from service.core.permission.consent import ConsentState
from service.core.places import Bed, CompostSite, DestinationKind
from service.destinations.compost_site import CompostSiteDestination
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import (
    Decision,
    Urgency,
    Way,
    about_load,
    clock_of_day,
)
from service.usecases.telling.decisions.whom import Whom
from service.usecases.telling.warnings.bays import bay_warnings

# How long before its end, and after it, a consent or a registration is told of: time to ask a
# client twice. Common practice, no source.
AHEAD_DAYS: Final = 14


def full_bays(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the bays in which more lies than they hold."""
    for told in bay_warnings(facts):
        yield Decision(
            code=told["code"],
            urgency=Urgency.TODAY,
            sentence=told["why"],
            destination_kind=DestinationKind.HOLD_BAY,
            destination_id=UUID(told["destination_id"]),
            ways=(Way(what="See what may leave it", method="GET", href="/hold-queue"),),
        )


def gates(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the sites whose word is old while loads are on the plan, and that shut before them."""
    for site, awaited in _sites_awaiting(facts):
        at_gate = CompostSiteDestination(
            site,
            here=RulesHere(rulebook, facts.span.day, site.jurisdiction),
            now=facts.now,
            taken_kg=0.0,
        )
        shut = _says_shut(site, at_gate)
        until = max((span.last_load_at for span in at_gate.spans), default=None)
        # Where nothing is taken, whoever is on the way is told not to tip there.
        is_shut = shut or until is None
        loads = [one for one in awaited if not is_shut or one.state is LoadState.PLANNED]
        if not loads:
            continue
        codes = tuple(dict.fromkeys(part.lot_code for load in loads for part in load.parts))
        first, last = min(load.arrive_at for load in loads), max(load.arrive_at for load in loads)
        say = Way(what="Keep what the site says", method="PATCH", href=f"/compost-sites/{site.id}")
        ring = f" Ring {site.phone}." if site.phone else ""
        if shut or until is None or last > until:
            said = (
                "takes no more loads today"
                if shut or until is None
                else f"takes its last load at {clock_of_day(facts, until)}"
            )
            yield Decision(
                code="site_shuts_first",
                urgency=Urgency.NOW,
                deadline=until,
                sentence=(
                    f"{site.name} {said}; {_to_come(loads)} {clock_of_day(facts, last)}.{ring} "
                    "Plan the day again, or send it earlier."
                ),
                lot_codes=codes,
                destination_kind=DestinationKind.COMPOST_SITE,
                destination_id=site.id,
                ways=(Way(what="Plan the day again", method="POST", href="/day-plans"), say),
                word="live_status" if shut or _says_early(site, at_gate) else None,
            )
        elif not at_gate.status_is_fresh:
            heard = site.live_status.as_of
            since = (
                "Nothing was ever heard from"
                if heard is None
                else f"Nothing was heard since {clock_of_day(facts, heard)} from"
            )
            yield Decision(
                code="site_word_old",
                urgency=Urgency.TODAY,
                deadline=first,
                sentence=(
                    f"{since} {site.name}, and a load is to come at {clock_of_day(facts, first)}."
                    f"{ring} Its posted hours and room are taken for true until then."
                ),
                lot_codes=codes,
                destination_kind=DestinationKind.COMPOST_SITE,
                destination_id=site.id,
                ways=(say,),
            )


def _to_come(loads: list[Load]) -> str:
    """Return how many are to come, up to the hour of the last."""
    if len(loads) == 1:
        return "a load is to come at"
    return f"{len(loads)} loads are to come, the last at"


def _says_shut(site: CompostSite, at_gate: CompostSiteDestination) -> bool:
    return site.live_status.state is SiteState.CLOSED and at_gate.status_is_fresh


def _says_early(site: CompostSite, at_gate: CompostSiteDestination) -> bool:
    return site.live_status.closes_early_at is not None and at_gate.status_is_fresh


def _sites_awaiting(facts: DayFacts) -> Iterator[tuple[CompostSite, list[Load]]]:
    """Yield the sites that loads are still to come to today, with them."""
    awaited: dict[UUID, list[Load]] = defaultdict(list)
    for load in facts.loads:
        if load.state in OPEN_LOAD_STATES and load.working_day == facts.span.day:
            awaited[load.destination_id].append(load)
    for site in facts.sites:
        if site.id in awaited:
            yield site, awaited[site.id]


def grounds(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the beds that loads are to come to and whose ground was looked at too long ago."""
    age_max = facts.rules(rulebook).value("ground_state_age_hours_max")
    awaited = {load.destination_id: load for load in facts.planned_loads}
    for bed in facts.beds:
        load, seen = awaited.get(bed.id), bed.ground_state_at
        if load is None or seen is None or facts.now - seen <= timedelta(hours=age_max):
            continue
        yield Decision(
            code="ground_word_old",
            urgency=Urgency.TODAY,
            deadline=load.arrive_at,
            sentence=(
                f"The ground was last seen more than {age_max:g} hours ago. Whoever comes "
                "with the load looks again before it is laid."
            ),
            **about_load(load),
            ways=(Way(what=f"Say how {bed.name} is", method="PATCH", href=f"/beds/{bed.id}"),),
        )


def papers_ending(facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    """Yield the consents and registrations that end soon, or ended lately."""
    for place, code, named, last in _papers(facts):
        if abs((last - facts.span.day).days) <= AHEAD_DAYS:
            yield _ending(facts, place, whom.of(place), code=code, named=named, last=last)


def _papers(facts: DayFacts) -> Iterator[tuple[Bed | CompostSite, str, str, date]]:
    for bed in facts.beds:
        consent = bed.consent
        if consent.state is ConsentState.GIVEN and consent.expires_on is not None:
            yield bed, "consent", "The client's consent", consent.expires_on
        basis = bed.legal_basis
        if basis.expires_on is not None:
            named = f"The registration {basis.reference or ''}".rstrip()
            yield bed, "registration", named, basis.expires_on
    for site in facts.sites:
        # Of weeds and of disease it is one word to the site that ends on one day.
        for last in dict.fromkeys(evidence.valid_until for evidence in site.kill_evidence):
            if last is not None:
                yield (
                    site,
                    "kill_evidence",
                    "What the site showed of killing weeds or disease",
                    last,
                )


def _ending(
    facts: DayFacts, place: Bed | CompostSite, asked: str, *, code: str, named: str, last: date
) -> Decision:
    today = facts.span.day
    is_bed = isinstance(place, Bed)
    kind = DestinationKind.BED if is_bed else DestinationKind.COMPOST_SITE
    path = "beds" if is_bed else "compost-sites"
    is_over = last < today
    means = "No bed is planned without it." if is_bed else "It counts for nothing after that."
    own = f"{named} for {place.name} {'ended' if is_over else 'ends'} with {date_words(last)}."
    return Decision(
        code=f"{code}_{'ended' if is_over else 'ends'}",
        urgency=Urgency.TODAY if last <= today else Urgency.SOON,
        deadline=_end_of(facts, last),
        sentence=f"{own} {means} Ask{f' {asked}' if asked else ''}, and keep what is said.",
        own=own,
        destination_kind=kind,
        destination_id=place.id,
        ways=(
            Way(
                what=f"Keep what is said of {place.name}",
                method="PATCH",
                href=f"/{path}/{place.id}",
            ),
        ),
    )


def _end_of(facts: DayFacts, day: date) -> datetime:
    after = datetime.combine(day + timedelta(days=1), time(0), tzinfo=facts.span.zone)
    return after.astimezone(UTC)

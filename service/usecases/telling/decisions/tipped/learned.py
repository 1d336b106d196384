"""What is known only now of grass that was tipped, also days ago: whoever has it is called."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import timedelta
from itertools import chain
from typing import Any, Final
from uuid import UUID

from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import CompostSite, DestinationKind
from service.destinations.lots import as_known
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.asking import ready_at, refusals_now
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import broken_by, is_settled, recall_of, words_of
from service.usecases.day.misplaced.refused_tips import RefusedTip
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.mass_book.settled import TAINTS, came_at, settled_loads
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, clock_of_day
from service.usecases.telling.decisions.whom import Whom

CODE: Final = "recall"
# A status as it stands in "what lies there is ...".
AS: Final = {
    LotStatus.UNKNOWN: "not known to be free of weed killers",
    LotStatus.LITTERED: "littered",
    LotStatus.TREATED: "treated",
    LotStatus.DISEASED: "diseased",
    LotStatus.WEEDY: "weedy",
}

# Of what came so long ago nothing is learned at a site by itself any more; a recall finds all.
# Common practice, no source.
LOOKED_BACK_DAYS: Final = 92


def learned(
    unit: UnitOfWork,
    facts: DayFacts,
    rulebook: Rulebook,
    whom: Whom,
    *,
    refused: Sequence[RefusedTip],
    lies: Sequence[Decision],
) -> Iterator[Decision]:
    """Yield the places at which something lies that may not, once each, until it is recalled.

    Parameters
    ----------
    refused
        What was tipped against a word of that hour: it is told as that.
    lies
        What clients have refused: who said no is not called to be told that it may not lie there.
    """
    against = {
        (tip.load.destination_id, part.lot_code) for tip in refused for part in tip.load.parts
    } | {(one.destination_id, code) for one in lies for code in one.lot_codes}
    found = [*_of_beds(facts, whom, against), *_of_sites(unit, facts, whom)]
    yield from found
    told = {one.destination_id for one in found} | {tip.load.id for tip in refused}
    told |= {one.load_id for one in lies}
    yield from _of_loads(facts, rulebook, whom, told)


def _of_beds(
    facts: DayFacts, whom: Whom, against: Collection[tuple[UUID | None, str]]
) -> Iterator[Decision]:
    for bed in facts.beds:
        lots = [
            lot
            for lot in facts.tainted.get(bed.id, ())
            if lot.depot_id == facts.depot.id  # who brought it calls
            and lot.since < facts.span.end
            and (bed.id, lot.lot_code) not in against
        ]
        if not lots or recall_of(facts.recalls, place_id=bed.id, job_ids=()) is not None:
            continue
        codes = tuple(lot.lot_code for lot in lots)
        since = clock_of_day(facts, min(lot.since for lot in lots))
        statuses = _in_order({status for lot in lots for status in lot.statuses})
        yield _call(
            codes,
            bed.name,
            f"it lies there since {since} and is, by what is known now, "
            f"{' and '.join(AS[one] for one in statuses)}.",
            whom.of(bed),
            destination_kind=DestinationKind.BED,
            destination_id=bed.id,
        )


def _of_sites(unit: UnitOfWork, facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    firm_id, sites = facts.depot.firm_id, {site.id: site for site in facts.sites}
    loads = unit.loads.all(
        firm_id,
        depot_id=facts.depot.id,
        destination_kind=DestinationKind.COMPOST_SITE,
        state=tuple(sorted(TIPPED_STATES)),
        status=tuple(sorted(TAINTS)),
        working_day=tuple(facts.span.day - timedelta(days=ago) for ago in range(LOOKED_BACK_DAYS)),
    )
    loads = [load for load in loads if load.destination_id in sites]
    found: dict[UUID, list[Load]] = {}
    worse = _worse_since(unit, firm_id, loads, sites)
    for load in loads:
        if load.id in worse and came_at(load) < facts.span.end:
            found.setdefault(load.destination_id, []).append(load)
    settled = settled_loads(unit, firm_id, chain.from_iterable(found.values()))
    for site_id, got in found.items():
        left = [
            load
            for load in sorted(got, key=came_at)
            if load.id not in settled
            and recall_of(facts.recalls, place_id=None, job_ids=[p.job_id for p in load.parts])
            is None
        ]
        if not left:
            continue
        codes = tuple(dict.fromkeys(part.lot_code for load in left for part in load.parts))
        statuses = _in_order({status for load in left for status in worse[load.id]})
        yield _call(
            codes,
            sites[site_id].name,
            f"it came {clock_of_day(facts, came_at(left[0]))} and is, by what is known now, "
            f"{' and '.join(AS[one] for one in statuses)}, which is not taken there.",
            whom.of(sites[site_id]),
            destination_kind=DestinationKind.COMPOST_SITE,
            destination_id=site_id,
        )


def _of_loads(
    facts: DayFacts, rulebook: Rulebook, whom: Whom, told: set[UUID | None]
) -> Iterator[Decision]:
    """Yield what else stands against loads of the day by now: sour, say, or against a recall."""
    loads = [
        load
        for load in facts.fixed_loads
        if load.state in TIPPED_STATES
        and not told & {load.id, load.destination_id}
        and not is_hold(load.destination_kind)
        and not is_settled(load, facts.recalls, facts.settled)
        and not any(recall.codes_in(load) for recall in facts.recalls)  # on its list of calls
    ]
    ready = ready_at(facts, {load.destination_id for load in loads}, rulebook=rulebook)
    for load in loads:
        at, recall = ready.get(load.destination_id), broken_by(load, facts.recalls)
        refusals = refusals_now(load, facts.known_jobs, facts, at, rulebook=rulebook)
        reasons = [one.sentence for one in refusals]
        reasons += [] if recall is None else [words_of(recall)]
        if at is not None and reasons:
            codes = [part.lot_code for part in load.parts]
            place = next(p for p in facts.places[load.destination_kind] if p.id == at.id)
            yield _call(
                codes,
                at.name,
                f"it should not lie there. {' '.join(dict.fromkeys(reasons))}",
                whom.of(place),
                load_id=load.id,
                destination_kind=load.destination_kind,
                destination_id=load.destination_id,
            )


def _worse_since(
    unit: UnitOfWork, firm_id: UUID, loads: Sequence[Load], sites: Mapping[UUID, CompostSite]
) -> dict[UUID, set[LotStatus]]:
    """Return by load what its site does not take of it, each thing that is found.

    What a site took in order is no matter though it takes less by now, unless something was learned
    of its lots since.
    """
    ids = sorted({part.job_id for load in loads for part in load.parts})
    jobs = unit.jobs.get_many(firm_id, ids) if ids else {}
    never: dict[UUID, set[LotStatus]] = {}
    for load in loads:
        site = sites[load.destination_id]
        taken = {*site.accepted_statuses, *site.as_on(load.working_day).accepted_statuses}
        is_now = {
            finding.status
            for part in load.parts
            if part.job_id in jobs
            for finding in as_known(jobs[part.job_id], came_at(load)).findings
        }
        if refused := (is_now & set(TAINTS)) - taken:
            never[load.id] = refused
    places = {load.destination_id for load in loads if load.id in never}
    asked = {p.job_id for load in loads if load.id in never for p in load.parts} | places
    changes = unit.amendments.of(firm_id, *sorted(asked)) if never else []

    def learned_of(load: Load) -> bool:
        ids = {part.job_id for part in load.parts}
        return any(
            "findings" in one.changes and one.at > came_at(load) and one.record_id in ids
            for one in changes
        )

    def takes_less_by_now(load: Load) -> bool:
        return any(
            "accepted_statuses" in one.changes
            and one.at >= came_at(load)
            and one.record_id == load.destination_id
            for one in changes
        )

    return {
        load.id: never[load.id]
        for load in loads
        if load.id in never and (learned_of(load) or not takes_less_by_now(load))
    }


def _in_order(statuses: Collection[LotStatus]) -> list[LotStatus]:
    return sorted(statuses, key=tuple(AS).index)


def _call(codes: Sequence[str], at: str, what: str, who: str, **place: Any) -> Decision:  # noqa: ANN401 - members of a decision
    return Decision(
        code=CODE,
        urgency=Urgency.NOW,
        sentence=(
            f"Call {who or f'whoever has {at}'}, about {', '.join(codes)} at {at}: {what} Nothing "
            "of it is spread or moved."
        ),
        lot_codes=tuple(codes),
        ways=(
            *(
                Way(what=f"Trace {code} and call", method="GET", href=f"/recall?lot_code={code}")
                for code in codes
            ),
            Way(what="Begin a recall", method="POST", href="/recalls"),
        ),
        **place,
    )

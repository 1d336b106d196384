"""Notes of the day: one received, one corrected after weighing, one that waits for an answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from service.core.jobs import JobState
from service.core.loads import Load, LoadState
from service.core.measures.quantities import Measure
from service.core.notes import DeliveryNote, Receipt
from service.core.places import DestinationKind
from service.demo.books import Books

MOST_LOADS: Final = 500
ON_ARRIVAL: Final = timedelta(minutes=12)


@dataclass(frozen=True, slots=True, kw_only=True)
class MorningPapers:
    """The notes of loads that are delivered already."""

    received: DeliveryNote
    corrected: DeliveryNote


def issue_morning_papers(books: Books) -> MorningPapers:
    """Issue the notes of two delivered loads; weigh one of them, and one at a compost site."""
    loads = _loads(books, DestinationKind.BED, LoadState.DELIVERED)
    first, heaviest = loads[0], max(loads[1:], key=_likely_kg)
    issue, clock = books.use_cases.issue_note, books.clock
    clock.move_to(_tipped_at(first) - ON_ARRIVAL)
    received = issue(books.caller, first.id)
    clock.move_to(_tipped_at(first))
    received = issue.acknowledge(
        received.id, receipt=Receipt.CHECKED, name=books.client_of(first.destination_id).name
    )
    clock.move_to(_tipped_at(heaviest) - ON_ARRIVAL)
    issue(books.caller, heaviest.id)
    clock.move_to(_tipped_at(heaviest) + ON_ARRIVAL)
    _weigh(books, heaviest, share_of_likely=0.9, ticket="Y-0117")
    corrected = issue(books.caller, heaviest.id)
    for load in _loads(books, DestinationKind.COMPOST_SITE, LoadState.DELIVERED)[:1]:
        clock.move_to(_tipped_at(load))
        _weigh(books, load, share_of_likely=1.2, ticket="HL-20417")
    return MorningPapers(received=received, corrected=corrected)


def issue_next_paper(books: Books, earlier: MorningPapers) -> DeliveryNote:
    """Issue the note that waits for its answer: of cut grass, latest on its way or tipped."""
    answered = {earlier.received.load_id, earlier.corrected.load_id}
    loads = [
        load
        for state in (LoadState.DELIVERED, LoadState.UNDER_WAY, LoadState.PLANNED)
        for load in _loads(books, DestinationKind.BED, state)
        if load.id not in answered and _is_cut(books, load)
    ]
    return books.use_cases.issue_note(books.caller, loads[-1].id)


def _is_cut(books: Books, load: Load) -> bool:
    read = books.use_cases.record_jobs.read
    return all(read(books.caller, part.job_id).state is JobState.MOWN for part in load.parts)


def _tipped_at(load: Load) -> datetime:
    return load.done_at or load.arrive_at


def _weigh(books: Books, load: Load, *, share_of_likely: float, ticket: str) -> None:
    net_kg = float(round(load.mass_kg.likely * share_of_likely))
    books.use_cases.update_load(
        books.caller,
        load.id,
        {"weighed_net": Measure(value=net_kg, unit="kg"), "weigh_ticket": ticket},
        expected_version=load.version,
    )


def _loads(books: Books, kind: DestinationKind, state: LoadState) -> list[Load]:
    """Return the day's loads of a kind in a state, as they arrive."""
    page = books.use_cases.papers.loads.page(
        books.caller,
        filters={"working_day": books.noon.date(), "destination_kind": kind, "state": state},
        limit=MOST_LOADS,
    )
    return sorted(page.records, key=lambda load: (_tipped_at(load), load.id))


def _likely_kg(load: Load) -> float:
    return load.mass_kg.likely

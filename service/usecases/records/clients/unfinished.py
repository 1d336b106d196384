"""What stands against erasing a client: grass that is still on its way, and what is looked into."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from service.core.errors import Refusal
from service.core.jobs import Job, JobState
from service.core.loads import OPEN_LOAD_STATES
from service.core.mass_book import NOTHING, VEHICLE
from service.core.places import DestinationKind
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.clients.theirs import Theirs

NAMED_AT_MOST: Final = 5


class ClientNotErasable(Refusal):
    """Something of a client's is still under way, or looked into."""

    code = "client_not_erasable"
    sentence = "Whoever it concerns must still be found: {reasons} Erase the client after that."


class ClientErased(Refusal):
    """A client that was erased is written of, or bound by, nothing any more."""

    code = "client_erased"
    sentence = (
        "This client was erased on {on}: nothing more is recorded of them. Enter a new client, "
        "and name that one in the property."
    )


def refuse_unfinished(unit: UnitOfWork, theirs: Theirs) -> None:
    """Refuse to erase a client while somebody may still have to be called. Raises as above."""
    reasons = list(_reasons(unit, theirs))
    if reasons:
        raise ClientNotErasable(reasons=" ".join(reasons))


def _reasons(unit: UnitOfWork, theirs: Theirs) -> Iterator[str]:
    own = {job.id: job for job in theirs.jobs}
    planned = [job for job in theirs.jobs if job.state is JobState.PLANNED]
    if planned:
        yield f"{_lots(planned)} planned to be mown: have it mown, or cancel it."
    doubted = [job for job in theirs.jobs if job.state is JobState.POSSIBLE_DUPLICATE]
    if doubted:
        yield f"{_lots(doubted)} perhaps reported twice: say whether it was."
    sums = unit.mass_balances.of_lots(theirs.client.firm_id, sorted(own)) if own else []
    for kind, sentence in (
        (VEHICLE, "{} aboard a vehicle: tip it, and report it."),
        (DestinationKind.HOLD_BAY.value, "{} held in a bay: release it."),
    ):
        there = {one.lot_id for one in sums if one.place_kind == kind and one.share > NOTHING}
        if there:
            yield sentence.format(_lots([own[lot_id] for lot_id in sorted(there)]))
    coming = [load for load in theirs.brought if load.state in OPEN_LOAD_STATES]
    if coming:
        yield f"Loads that are to come to the client's beds: {len(coming)}."
    lying = [load for load in theirs.brought if load.waits_to_be_taken_up]
    if lying:
        yield f"Loads that the client refused, and that still lie there: {len(lying)}."
    if any(recall.is_open for recall in theirs.recalls):
        yield "A recall that concerns the client is open: end it."


def _lots(jobs: Sequence[Job]) -> str:
    codes = [job.lot_code for job in jobs]
    named = ", ".join(codes[:NAMED_AT_MOST])
    more = f" and {len(codes) - NAMED_AT_MOST} more" if len(codes) > NAMED_AT_MOST else ""
    return f"{named}{more} {'is' if len(codes) == 1 else 'are'}"

"""Since when each of what lay in bodies counts as mixed with some lots: by its earliest hour."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from heapq import heapify, heappop, heappush
from itertools import count
from operator import attrgetter
from uuid import UUID

from service.core.mass_book import BodyStay

# When it was first told, rightly or not, that a lot came into a body: by both.
Told = Mapping[tuple[UUID, UUID], datetime]


def mixed_since(
    stays: Iterable[BodyStay], job_ids: Collection[UUID], told: Told
) -> dict[UUID, datetime]:
    """Return some lots and all that was mixed with them, and since when; theirs is their first.

    Hours are gone through as they passed. So whatever a stay meets first it meets earliest, and
    nobody looks at it again: the effort grows with the stays, not with how many lay together.

    Parameters
    ----------
    stays
        Of the lots, and of all that can have been in the bodies that any of it came to.
    told
        Who says that a lot was kept apart speaks of what is on record by then. Of what nothing is
        told here it is as if it was on record always.
    """
    own: dict[UUID, list[BodyStay]] = defaultdict(list)
    beside: dict[UUID, list[BodyStay]] = defaultdict(list)
    for stay in sorted(stays, key=attrgetter("since")):
        own[stay.job_id].append(stay)
        beside[stay.vehicle_id].append(stay)
    found: dict[UUID, datetime] = {}
    turn = count()  # of several at one hour
    # Lots as they are mixed, and stays as what is in them mixes others.
    ahead: list[tuple[datetime, int, UUID | BodyStay]] = [
        (own[job_id][0].since, next(turn), job_id) for job_id in job_ids if job_id in own
    ]
    heapify(ahead)
    while ahead:
        now, _, one = heappop(ahead)
        if isinstance(one, BodyStay):
            met, beside[one.vehicle_id] = _met(one, beside[one.vehicle_id], now, told)
            for other in met:
                if other.job_id not in found:
                    heappush(ahead, (max(now, other.since), next(turn), other.job_id))
        elif one not in found:
            found[one] = now
            for mine in own[one]:
                # What it came to lie with as it left a body, it did not bring back there.
                if mine.until > now or mine.since == now:
                    heappush(ahead, (max(now, mine.since), next(turn), mine))
    return found


def met_by(stays: Iterable[BodyStay], job_id: UUID, told: Told) -> list[tuple[BodyStay, BodyStay]]:
    """Return each stay of a lot with each of another that was in its body with it, not apart."""
    beside: dict[UUID, list[BodyStay]] = defaultdict(list)
    for stay in stays:
        beside[stay.vehicle_id].append(stay)
    return [
        (mine, other)
        for there in beside.values()
        for mine in there
        for other in there
        if mine.job_id == job_id != other.job_id
        and max(mine.since, other.since) <= min(mine.until, other.until)
        and not _is_apart(mine, other, told)
    ]


def _met(
    mine: BodyStay, there: list[BodyStay], now: datetime, told: Told
) -> tuple[list[BodyStay], list[BodyStay]]:
    """Return which stays of a body one mixes from now on, and which are still to be asked of."""
    met: list[BodyStay] = []
    left: list[BodyStay] = []
    for number, stay in enumerate(there):
        if stay.since > mine.until:
            left += there[number:]
            break
        if stay.until < now:
            continue
        is_met = stay.job_id != mine.job_id and not _is_apart(mine, stay, told)
        (met if is_met else left).append(stay)
    return met, left


def _is_apart(one: BodyStay, two: BodyStay, told: Told) -> bool:
    """Return whether the office said that two were kept apart, once they were known to be there."""
    together = max(one.since, two.since)
    return any(
        said.apart_until
        and said.apart_until >= max(together, told.get((of.job_id, of.vehicle_id), together))
        for said, of in ((one, two), (two, one))
    )

"""A destination as the planner sees it: room, fee and hours in whole numbers."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, fsum
from typing import Final, Self
from uuid import UUID

from service.core.acceptance.fees import FeeBasis
from service.core.plans import Verdict
from service.destinations.ready import KILOGRAMS_PER_TONNE, ReadyDestination
from service.planning.model.problem import Destination
from service.rules.here import RulesHere
from service.usecases.base.calendar import DaySpan
from service.usecases.base.destination_kinds import KINDS, RANKS
from service.usecases.day.destinations import Asked
from service.usecases.day.problem.prices import CrewMinute

NOTHING_LOADED = "nothing"
END_STEP_S = 900
# What a site says to a lot, and may say otherwise when it is asked.
TAKEN_BY_A_WORD: Final = frozenset(
    {"site_refuses_sour", "site_refuses_status", "site_sour_not_said"}
)
MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Routed lots as destinations count them: their verdicts, their status for the planner.

    ``ends_s`` is the last second at which each destination takes them; None while it is open.
    """

    row: tuple[Verdict, ...]
    ends_s: tuple[int | None, ...]
    status: str
    m3_per_kg: tuple[float, ...]


def counted_together(
    found: Iterable[tuple[tuple[Verdict, ...], tuple[int | None, ...], str, float]],
) -> tuple[Counted, ...]:
    """Return lots of which each is told the same until the same hours as one, in their order.

    Parameters
    ----------
    found
        Of each lot its row, its ends, its status, and its volume [m3/kg].
    """
    kinds: dict[tuple[int, int, str], list[float]] = {}
    shared = {}
    for row, ends_s, status, m3_per_kg in found:
        key = id(row), id(ends_s), status  # lots that are told the same share their rows
        shared[key] = row, ends_s
        kinds.setdefault(key, []).append(m3_per_kg)
    return tuple(
        Counted(row=row, ends_s=ends_s, status=key[2], m3_per_kg=tuple(kinds[key]))
        for key, (row, ends_s) in shared.items()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldLater:
    """What a crew's time still costs that brings on what is held.

    Holding spares no tip: it is loaded by hand, and tipped as at a bed, on a day to come. Without
    that the plan would put off whatever takes longer than a stop in the yard.
    """

    tip_cents: int
    loading_cents_per_m3: float

    @classmethod
    def of(cls, minute: CrewMinute, here: RulesHere) -> Self:
        """Return it by the rules of the day."""
        cents = minute.cents or 0
        tip = here.value("tipping_minutes", destination="bed")
        pace = here.value("hand_loading_m3_per_h")
        return cls(
            tip_cents=round(cents * tip),
            loading_cents_per_m3=cents * MINUTES_PER_HOUR / pace,
        )


def takers(
    asked: Asked, rows: Collection[Sequence[Verdict]], *, could_be_asked: bool
) -> list[ReadyDestination]:
    """Return who takes any of the lots, or might by a word, in the order of their names."""
    found = [
        ready
        for position, ready in enumerate(asked.destinations)
        if any(
            not row[position].refused or (could_be_asked and row[position].code in TAKEN_BY_A_WORD)
            for row in rows
        )
    ]
    return sorted(found, key=lambda ready: (RANKS[ready.kind], ready.name, str(ready.id)))


def ends_of(job_ids: Sequence[UUID], asked: Asked, span: DaySpan) -> tuple[int | None, ...]:
    """Return until which second each destination takes lots that lie together.

    It is when the first of those turns sour that are not to be tipped there sour. Counted in
    whole quarters of an hour, downwards: the hour is an estimate, and lots of like hours stay of
    one kind. What keeps for the rest of the day has no end.
    """
    last_s = span.second(span.end)
    ends = [
        max(0, span.second(asked.lots[job_id].keeps_until) // END_STEP_S * END_STEP_S)
        for job_id in job_ids
    ]
    rows = [asked.only_fresh[job_id] for job_id in job_ids]
    if len(rows) == 1:  # as most lots lie: those of a kind that were cut at one hour share theirs
        return _ends(rows[0], ends[0] if ends[0] < last_s else None)
    return tuple(
        min(
            (e for e, fresh in zip(ends, column, strict=True) if fresh and e < last_s), default=None
        )
        for column in zip(*rows, strict=True)
    )


@lru_cache(maxsize=4096)
def _ends(only_fresh: tuple[bool, ...], end_s: int | None) -> tuple[int | None, ...]:
    return tuple(end_s if fresh else None for fresh in only_fresh)


def planner_destination(
    key: str,
    ready: ReadyDestination,
    *,
    counted: Sequence[Counted],
    fee_scale: float,
    later: HeldLater,
    position: int,
    place: str,
) -> Destination:
    """Return the planner's destination, with the room that is safe for every lot it takes."""
    taken = [lot for lot in counted if not lot.row[position].refused]
    # One room is shared by lots of different density: the tightest lot's figure is safe for all.
    # Of one that takes nothing yet, see ``TAKEN_BY_A_WORD``, it is what its record says.
    of_record_kg = getattr(ready.destination, "room_kg", 0.0)
    least_kg = min((lot.row[position].accepted_kg for lot in taken), default=of_record_kg)
    room_kg = floor(least_kg)
    kind = KINDS[ready.kind]
    stop_cents = kind.stop_cents
    fee_cents_per_t = float(kind.holding_cents_per_t)
    m3_per_kg = [one for lot in taken for one in lot.m3_per_kg]
    m3_per_t = KILOGRAMS_PER_TONNE * fsum(m3_per_kg) / max(1, len(m3_per_kg))
    if kind.is_hold:
        stop_cents += later.tip_cents
        fee_cents_per_t += later.loading_cents_per_m3 * m3_per_t
    if ready.fee is not None:
        if ready.fee.basis is FeeBasis.PER_TONNE:
            fee_cents_per_t += ready.fee.amount_cents
        elif ready.fee.basis is FeeBasis.PER_M3:
            fee_cents_per_t += ready.fee.amount_cents * m3_per_t
        else:
            stop_cents += ready.fee.amount_cents
    return Destination(
        id=key,
        kind=kind.planner_word,
        place=place,
        capacity_kg=room_kg,
        least_kg=ceil(ready.least_kg),
        fee_cents_per_t=round(fee_cents_per_t * fee_scale),
        accepts=tuple(sorted({NOTHING_LOADED, *(lot.status for lot in taken)})),
        accepts_until_s=tuple(
            sorted(
                {
                    (lot.status, end_s)
                    for lot in taken
                    if (end_s := lot.ends_s[position]) is not None
                }
            )
        ),
        tip_s=ready.tip_s,
        stop_cents=stop_cents,
        open_s=ready.open_s,
        close_s=ready.close_s,
        **dict(zip(("pause_from_s", "pause_until_s"), ready.pause_s, strict=False)),
        # A price for the plan alone: it is scaled like the fees, and nobody is ever charged it.
        burden_cents_per_t=round(
            (ready.fairness.price_cents_per_t if ready.fairness else 0.0) * fee_scale
        ),
        may_overflow=False,
    )

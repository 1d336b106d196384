"""The figures of a month, each as a chart, a table and a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.loads import Load
from service.core.mass_book import ELSEWHERE
from service.core.measures.units import date_words
from service.pages.month.charts import Bar, Chart, chart_of
from service.pages.needs import Needs
from service.pages.setup.filing import every
from service.pages.words import PLACES, kilograms, money
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.evening.amounts import Amount
from service.usecases.telling.evening.periods import ABOARD, CARRIED_OVER, Row, Span, Totals
from service.usecases.telling.warnings.subjects import named

TONNE_KG: Final = 1000.0
HOUR_S: Final = 3600.0
MOST_BARS: Final = 20
NEAR: Final = 0.5  # of a year's limit: from here on a bed is shown; common practice, no source
GONE: Final = {ELSEWHERE: "gone in words"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A question, its drawing, and the table behind it."""

    name: str
    title: str
    about: str
    columns: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]
    chart: Chart | None
    unit: str


def figures_of(needs: Needs, caller: Caller, look: DayLook, first: date) -> list[Figure]:
    """Return the month's figures; ``first`` is its first day."""
    last = min(last_of(first), look.today)
    depot = look.depot.id
    ask = needs.tell_totals
    month = ask(caller, depot, since=first, until=max(last, first), by=Span.MONTH)
    weeks = ask(caller, depot, since=first, until=max(last, first), by=Span.WEEK)
    return [
        _outcomes(month),
        _costs(weeks, needs.keep_sessions.firm(caller.firm_id).currency),
        _weights(needs, caller, depot, first, last),
        _held(needs, caller, look),
        _beds(needs, caller, depot),
    ]


def last_of(first: date) -> date:
    """Return the last day of a month."""
    return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def _outcomes(month: Totals) -> Figure:
    rows = [row for row in month.rows if row.by == "outcome" and row.amount.counted_kg > 0]
    return Figure(
        name="outcomes",
        title="Where it went",
        about=(
            "Tonnes as they count: weighed where there is a weight, else likely; the line is from "
            "the low to the high end of the estimates."
            + _beside(month, CARRIED_OVER, " {kg} of it had been held since the month before.")
            + _beside(month, ABOARD, " Beside it {kg} were still aboard as it ended.")
        ),
        columns=("outcome", "counted_t", "low_t", "likely_t", "high_t"),
        rows=tuple(
            (_outcome(row), _tonnes(row.amount.counted_kg), *_ends(row.amount)) for row in rows
        ),
        chart=_drawn(
            Bar(
                label=_outcome(row),
                value=row.amount.counted_kg / TONNE_KG,
                low=row.amount.mass_kg["low"] / TONNE_KG,
                high=row.amount.mass_kg["high"] / TONNE_KG,
                told=kilograms(row.amount.counted_kg),
            )
            for row in rows
        ),
        unit="t",
    )


def _beside(month: Totals, by: str, sentence: str) -> str:
    kg = sum(row.amount.counted_kg for row in month.rows if row.by == by)
    return sentence.format(kg=kilograms(kg)) if kg >= 1.0 else ""


def _outcome(row: Row) -> str:
    return (GONE | PLACES).get(row.key, row.key.replace("_", " "))


def _costs(weeks: Totals, currency: str) -> Figure:
    """Return what it cost to bring away, week by week; of a tonne where there was one.

    Of less, a cost of a tonne says only how little there was: the way is the same for a sack.
    """
    counted: dict[date, float] = {}
    for row in weeks.rows:
        if row.by in {"outcome", CARRIED_OVER}:
            # What was brought on from a bay was counted in the week in which it came there.
            kg = row.amount.counted_kg * (-1.0 if row.by == CARRIED_OVER else 1.0)
            counted[row.first] = counted.get(row.first, 0.0) + kg
    told = []
    for first, cost in weeks.costs.items():
        tonnes = counted.get(first, 0.0) / TONNE_KG
        cents = cost.fee_cents + cost.way_cents + cost.time_cents
        if tonnes > 0:
            told.append((first, tonnes, cost, cents))
    return Figure(
        name="costs",
        title="What it cost to bring it away",
        about=(
            "Fees, the way to the tips and the crew's time there, by the prices of the planner; a "
            "row a week, by its first day. A week of less than a tonne has no cost of a tonne. "
            + _minute_words(weeks, currency)
        ),
        columns=(
            "week",
            "tonnes",
            *(f"{what}_{currency}" for what in ("fees", "way", "time", "cost", "per_tonne")),
        ),
        rows=tuple(
            (
                first.isoformat(),
                round(tonnes, 3),
                round(cost.fee_cents / 100, 2),
                round(cost.way_cents / 100, 2),
                round(cost.time_cents / 100, 2),
                round(cents / 100, 2),
                round(cents / tonnes / 100, 2) if tonnes >= 1 else "",
            )
            for first, tonnes, cost, cents in told
        ),
        chart=_drawn(
            Bar(
                label=f"{first.day} {first:%b}",
                value=cents / 100,
                told=_cost_words(cents, tonnes, currency),
            )
            for first, tonnes, _, cents in told
        ),
        unit=currency,
    )


def _cost_words(cents: float, tonnes: float, currency: str) -> str:
    whole = f"{currency} {money(cents)} for {kilograms(tonnes * TONNE_KG)}"
    return f"{whole}, {currency} {money(cents / tonnes)} a tonne" if tonnes >= 1 else whole


def _minute_words(weeks: Totals, currency: str) -> str:
    minute = weeks.crew_minute
    if minute.cents is None:
        return f"A crew's minute: {minute.basis}"
    return f"A crew's minute counts {currency} {money(minute.cents)}."


def _weights(needs: Needs, caller: Caller, depot: UUID, first: date, last: date) -> Figure:
    days = tuple(first + timedelta(days=n) for n in range(max((last - first).days + 1, 1)))
    loads: list[Load] = [
        load
        for load in every(needs.papers.loads, caller, depot_id=depot, working_day=days)
        if load.weighed_net is not None and load.weight_counts
    ]
    loads.sort(key=lambda load: (load.working_day, load.weigh_ticket or ""))
    inside = sum(_is_inside(load) for load in loads)
    return Figure(
        name="weights",
        title="Estimated, and weighed",
        about=(
            f"{inside} of {len(loads)} weights lie between the ends of their estimates; four of "
            "five should. The bar is the likely estimate, the line its interval, the cross the "
            "weight."
        ),
        columns=("day", "ticket", "low_kg", "likely_kg", "high_kg", "weighed_kg", "inside"),
        rows=tuple(
            (
                load.working_day.isoformat(),
                load.weigh_ticket,
                *(round(kg, 1) for kg in _kept(load)),
                round(_weight(load), 1),
                "yes" if _is_inside(load) else "no",
            )
            for load in loads
        ),
        chart=_drawn(
            Bar(
                label=f"{date_words(load.working_day)}, ticket {load.weigh_ticket}",
                value=_kept(load)[1],
                low=_kept(load)[0],
                high=_kept(load)[2],
                point=_weight(load),
                told=f"{kilograms(_weight(load))} weighed",
                is_grave=not _is_inside(load),
            )
            for load in loads[-MOST_BARS:]
        ),
        unit="kg",
    )


def _kept(load: Load) -> tuple[float, float, float]:
    mass, share = load.mass_kg, load.weighed_share
    return mass.low * share, mass.likely * share, mass.high * share


def _weight(load: Load) -> float:
    return 0.0 if load.weighed_net is None else load.weighed_net.si_value


def _is_inside(load: Load) -> bool:
    low, _, high = _kept(load)
    return low <= _weight(load) <= high


def _held(needs: Needs, caller: Caller, look: DayLook) -> Figure:
    entries: Any = needs.tell_hold_queue(caller, look.depot.id)["entries"]
    told = [(entry, _hours(entry, look.now)) for entry in entries if entry["held_since"]]
    return Figure(
        name="held",
        title="What is held now, and how long",
        about=(
            "Hours since it came to the bay; the cross is when it counts as sour. What is past it "
            "no bed takes any more."
        ),
        columns=("lots", "bay", "likely_kg", "hours", "sour_after_hours", "past"),
        rows=tuple(
            (
                " ".join(entry["lot_codes"]),
                entry["hold_bay"],
                round(entry["mass_kg"]["likely"], 1),
                round(hours, 1),
                round(sour, 1),
                "yes" if hours > sour else "no",
            )
            for entry, (hours, sour) in told
        ),
        chart=_drawn(
            Bar(
                label=named(entry["lot_codes"], most=1),
                value=hours,
                point=max(sour, 0.0),
                told=f"{hours:.0f} hours, {kilograms(entry['mass_kg']['likely'])}",
                is_grave=hours > sour,
            )
            for entry, (hours, sour) in told[:MOST_BARS]
        ),
        unit="hours",
    )


def _hours(entry: Mapping[str, Any], now: datetime) -> tuple[float, float]:
    """Return for how long something is held, and after how long there it counts as sour [h]."""
    since = datetime.fromisoformat(entry["held_since"])
    sour = datetime.fromisoformat(entry["red_at"])
    return (now - since).total_seconds() / HOUR_S, (sour - since).total_seconds() / HOUR_S


def _beds(needs: Needs, caller: Caller, depot: UUID) -> Figure:
    beds = needs.tell_bed_years(caller, depot)
    near = [bed for bed in beds if bed.share >= NEAR]
    return Figure(
        name="beds",
        title="Beds near their year's limit",
        about=(
            "Per cent of what a bed may get in twelve months, by mass or by nitrogen, whichever "
            f"is nearer; beds from {NEAR:.0%} on are drawn, the table has all {len(beds)}."
        ),
        columns=(
            *("bed", "place", "laid_kg_per_m2", "limit_kg_per_m2", "nitrogen_kg_per_ha"),
            *("limit_nitrogen_kg_per_ha", "used_percent", "by"),
        ),
        rows=tuple(
            (
                *(bed.name, bed.place, round(bed.laid_kg_per_m2, 3), bed.limit_kg_per_m2),
                *(round(bed.nitrogen_kg_per_ha, 1), bed.limit_nitrogen_kg_per_ha),
                *(round(bed.share * 100, 1), "law" if bed.is_law else "advice"),
            )
            for bed in beds
        ),
        chart=_drawn(
            (
                Bar(
                    label=f"{bed.name}, {bed.place}",
                    value=bed.share * 100,
                    told=f"{bed.share:.0%}",
                    is_grave=bed.share >= 1,
                )
                for bed in near[:MOST_BARS]
            ),
            limit=100.0,
        ),
        unit="%",
    )


def _drawn(bars: Iterator[Bar], *, limit: float | None = None) -> Chart | None:
    found = list(bars)
    return chart_of(found, limit=limit) if found else None


def _tonnes(mass_kg: float) -> float:
    return round(mass_kg / TONNE_KG, 3)


def _ends(amount: Amount) -> Sequence[float]:
    return [_tonnes(amount.mass_kg[end]) for end in ("low", "likely", "high")]

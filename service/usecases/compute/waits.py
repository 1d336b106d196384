"""Compute what treatments ask for, what a vehicle may still take, what a process kills."""

from __future__ import annotations

from collections.abc import Sequence

from service.agronomy.clippings.vehicle_load import Aboard, VehicleLimits, check_load, room_left
from service.agronomy.heat.kill import HeatStep, meets_requirement
from service.agronomy.treatments.facts import LabelWait, TreatmentFact
from service.agronomy.treatments.waits import verdict_for
from service.core.acceptance.kills import Kill
from service.core.errors import Refusal
from service.core.materials import Wetness
from service.core.treatments import LabelWait as RecordedLabelWait
from service.destinations.estimating import PACKING
from service.destinations.treatments.kept_on_lawn import kept_by
from service.rules.lookup import RuleNotInForce
from service.usecases.compute.looked_up import LookedUp, told

DESTINATIONS = ("bed", "edible_bed", "compost_site", "lawn")


class NoKillRequirement(Refusal):
    """No requirement of this standard for this process is known for the day and place."""

    code = "no_kill_requirement"
    sentence = "No requirement of {standard} for {process} is in force on {day} in {place}."


def treatment_wait(
    looked_up: LookedUp,
    *,
    product: str,
    active_ingredients: Sequence[str] = (),
    days_since: int | None = None,
    mowings_since: int | None = None,
    label_days: int | None = None,
    label_mowings: int | None = None,
    label_never: bool = False,
    label_leave_on_lawn_mowings: int | None = None,
) -> dict[str, object]:
    """Return, by use of the clippings, what a treatment still asks for; people's clock is another.

    An ingredient the table does not know, or a product without any named, is unknown.
    """
    table = looked_up.rulebook.treatments
    found = [table.substance_of(name) for name in active_ingredients]
    names = tuple(
        substance.name if substance is not None else written
        for substance, written in zip(found, active_ingredients, strict=True)
    )
    waits = [
        row
        for name in names
        for row in table.waits_on(name, looked_up.day, jurisdiction=looked_up.jurisdiction)
    ]
    told_label = label_never or any(
        said is not None for said in (label_days, label_mowings, label_leave_on_lawn_mowings)
    )
    kept = kept_by(
        product,
        names,
        mowings_since=mowings_since or 0,
        label=RecordedLabelWait(
            leave_on_lawn=label_never, leave_on_lawn_mowings=label_leave_on_lawn_mowings
        )
        if told_label
        else None,
        here=looked_up.here,
    )
    if kept is not None:
        looked_up.cite(*kept.sources)
    fact = TreatmentFact(
        product=product,
        substances=names,
        waits=waits,
        days_since=days_since,
        mowings_since=mowings_since,
        label=LabelWait(
            days=label_days,
            mowings=max(label_mowings or 0, label_leave_on_lawn_mowings or 0) or label_mowings,
            never=label_never,
        )
        if told_label
        else None,
    )
    verdicts = [verdict_for(destination, [fact]) for destination in DESTINATIONS]
    for verdict in verdicts:
        looked_up.cite(*verdict.sources)
    return {
        "substances": [
            {
                "written": written,
                "name": substance.name if substance else None,
                "cas": substance.cas if substance else None,
                "group": substance.group if substance else None,
            }
            for written, substance in zip(active_ingredients, found, strict=True)
        ],
        "uses": {
            verdict.destination: {
                **told(verdict, "outcome", "days_left", "mowings_left", "composting_days"),
                "because": verdict.because or None,
                "rule": verdict.rule or None,
                "kind": verdict.kind or None,
                "sources": list(verdict.sources),
            }
            for verdict in verdicts
        },
        "kept_on_lawn": None
        if kept is None
        else {
            **told(kept, "sentence", "mowings_left", "because", "sources"),
            "kind": kept.rule_class.value,
        },
        "people": "The re-entry time on the label is another clock and is not counted here.",
    }


def vehicle_room(
    looked_up: LookedUp,
    *,
    body_volume_m3: float,
    payload_kg: float | None = None,
    gross_limit_kg: float | None = None,
    tare_kg: float | None = None,
    aboard_mass_kg: float = 0.0,
    aboard_volume_m3: float = 0.0,
    wetness: Wetness = Wetness.UNKNOWN,
) -> dict[str, object]:
    """Return the room left in kilograms, litres and bags, at the wet end.

    What is aboard counts by its high end, as in a plan: nothing more is kept back.

    Raises
    ------
    VehicleOverloaded, VehicleLimitMissing
    """
    density = looked_up.rule("bulk_density_kg_per_m3", packing=PACKING[wetness])
    bag_litres = looked_up.rule("bag_litres").value
    limits = VehicleLimits(
        body_volume_m3=body_volume_m3,
        payload_kg=payload_kg,
        gross_limit_kg=gross_limit_kg,
        tare_kg=tare_kg,
    )
    aboard = Aboard(mass_high_kg=aboard_mass_kg, volume_high_m3=aboard_volume_m3)
    check_load(limits, aboard)
    room = room_left(
        limits,
        aboard,
        density_high_kg_per_m3=density.high,
        density_low_kg_per_m3=density.low,
        bag_litres=bag_litres,
    )
    return {
        **told(room, "mass_kg", "volume_litres", "bags", "binding"),
        "bag_litres": bag_litres,
    }


def _shown_by(looked_up: LookedUp, standard: str) -> list[str]:
    """Return what is taken to be dead where a standard is met: each kill by itself."""
    found = []
    for word in Kill:
        try:
            looked_up.rule("kill_shown_by", standard=standard, kill=word.value)
        except RuleNotInForce:
            continue
        found.append(word.value)
    return found


def kill(
    looked_up: LookedUp,
    *,
    standard: str,
    process: str,
    readings: Sequence[tuple[float, float]],
    turnings: int,
) -> dict[str, object]:
    """Return whether temperature readings (hour, degrees C) meet a standard's requirement.

    Raises
    ------
    NoKillRequirement
    """
    case = {"standard": standard, "process": process}
    steps = []
    for step in looked_up.rulebook.words_of("kill_hours_min", "step"):
        try:
            steps.append(
                HeatStep(
                    name=step,
                    temperature_c=looked_up.rule("kill_temperature_c_min", **case, step=step).value,
                    hours=looked_up.rule("kill_hours_min", **case, step=step).value,
                    turnings=int(looked_up.rule("kill_turnings_min", **case, step=step).value),
                    consecutive=True,
                )
            )
        except RuleNotInForce:
            continue
    if not steps:
        raise NoKillRequirement(
            standard=standard,
            process=process,
            day=looked_up.day,
            place=looked_up.jurisdiction or "any place",
        )
    verdict = meets_requirement(
        list(readings),
        turnings=turnings,
        steps=steps,
        greatest_gap_hours=looked_up.rule("kill_reading_gap_hours_max").value,
    )
    return {
        "met": verdict.met,
        "met_by": verdict.met_by.name if verdict.met_by else None,
        "shows": _shown_by(looked_up, standard) if verdict.met else [],
        "requirements": [
            {
                "step": step.name,
                "temperature_c_min": step.temperature_c,
                "hours_min": step.hours,
                "turnings_min": step.turnings,
            }
            for step in steps
        ],
        "shortfalls": [
            {
                "step": short.step.name,
                **told(short, "hours_short", "turnings_short"),
            }
            for short in verdict.shortfalls
        ],
    }

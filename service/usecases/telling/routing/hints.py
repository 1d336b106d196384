"""Why a drop goes where it goes, what stood against the others, and what would change it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from service.core.acceptance.fees import FeeBasis
from service.core.loads import Load
from service.core.plans import RuleClass, Verdict
from service.destinations.ready import ReadyDestination
from service.planning.model.result import Barrier, Hint, PlanStop, Unplaced
from service.usecases.base.destination_kinds import is_hold
from service.usecases.day.planned_day import PlannedDay, named
from service.usecases.telling.told.explanations import (
    Against,
    ExplanationTold,
    RunnerUpTold,
    WayTold,
)
from service.usecases.telling.told.places import BurdenTold, Named, SparedBed

# A telephone call may move a site or a client, and somebody may overrule advice; nobody the law.
WHO_SETS_ROOM = frozenset({RuleClass.SITE, RuleClass.CLIENT, RuleClass.ADVICE})
WHO_MAY_SAY_YES = frozenset({RuleClass.SITE, RuleClass.CLIENT})
# Advice that ends with the word of whoever was never asked.
NEVER_ASKED = frozenset({"site_sour_not_said"})
ABOUT_THE_LOT = "lot_"  # codes that begin so: no word of a destination heals the lot
FEE_UNITS = {FeeBasis.PER_TONNE: "a tonne", FeeBasis.PER_M3: "a cubic metre"}
# Nobody takes clippings for next to nothing: a fee below this part of today's is not told; common
# practice, no source.
LEAST_FEE_SHARE = 0.1
STANDING = {
    "too_little": "Its client takes no visit for so little.",
    "no_room": "Its room goes to other loads.",
    "closed": "It has taken its last load by then.",
    "dearer": "It would take the load, at more cost in all.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """What a hint would have to be, in words: a condition, and the members that go with it."""

    members: dict[str, Any]
    condition: str
    remark: str = ""


class HintTeller:
    """Tells the planner's explanations in the words of the records."""

    def __init__(self, made: PlannedDay) -> None:
        """Take the made day."""
        self._made = made
        self._use = {use.id: use for use in made.plan.destinations}
        self._key = {ready.id: key for key, ready in made.built.destinations.items()}
        self._position = made.asked.position
        self._fees = {d.id: d.fee_cents_per_t for d in made.built.problem.destinations}

    def told_drop(
        self,
        stop: PlanStop,
        load: Load,
        *,
        fairness: BurdenTold | None,
        spared_beds: tuple[SparedBed, ...],
    ) -> ExplanationTold:
        """Return the explanation of a planned drop, without what would change it."""
        key = str(stop.destination)
        use, lots = self._use[key], [part.lot_id for part in load.parts]
        runner = stop.runner_up
        willing = [
            other
            for name in (runner.destinations if runner else ())
            if (other := self._made.built.destinations[name]).id != load.destination_id
            and not self._refusals(other, lots)
        ]
        return ExplanationTold(
            room_left_high_kg=max(0, use.room_kg),
            scarcity_cents_per_t=use.price_cents_per_t,
            runner_up=RunnerUpTold(
                destinations=tuple(Named(**named(other)) for other in willing),
                extra_cents=runner.extra_cents if runner else None,
            ),
            others=tuple(self._told_barrier(barrier, lots) for barrier in stop.barriers),
            fairness=fairness,
            spared_beds=spared_beds,
        )

    def told_changes(self, stop: PlanStop, load: Load) -> tuple[WayTold, ...]:
        """Return what would change where a planned drop goes."""
        held = is_hold(load.destination_kind)
        name = self._name(str(stop.destination))
        outcome = "would not have to be held" if held else f"would not go to {name}"
        lots = [part.lot_id for part in load.parts]
        return tuple(self._told_hints(stop.hints, lots, f"this load {outcome}"))

    def told_unplaced(self, part: Unplaced) -> tuple[WayTold, ...]:
        """Return what would place material that no destination takes."""
        day = self._made.built.vehicles[part.vehicle]
        keys = [piece.key for piece in day.ahead]
        fetched = day.ahead[: keys.index(part.after_job) + 1] if part.after_job in keys else ()
        # Whoever takes it takes it mixed with what may still be aboard.
        lots = [job_id for piece in (*day.aboard, *fetched) for job_id, _ in piece.shares]
        return tuple(self._told_hints(part.hints, lots, "this material would find a place"))

    def _name(self, key: str) -> str:
        return self._made.built.destinations[key].name

    def _told_barrier(self, barrier: Barrier, lots: Sequence[UUID]) -> Against:
        ready = self._made.built.destinations[barrier.destination]
        refusals = self._refusals(ready, lots)
        if not refusals:
            sentence = STANDING.get(barrier.code, "It does not take everything that is aboard.")
            return Against(**named(ready), code=barrier.code, sentence=sentence, rule_class=None)
        said = refusals[0]
        return Against(
            **named(ready), code=said.code, sentence=said.sentence, rule_class=said.rule_class
        )

    def _told_hints(
        self, hints: Iterable[Hint], lots: Sequence[UUID], outcome: str
    ) -> Iterator[WayTold]:
        for hint in hints:
            ready = self._made.built.destinations[hint.destination]
            way = self._way(hint, ready, lots)
            if way is None:
                continue
            saving = f"the plan would cost {hint.saving_cents / 100:.2f} less"
            sentence = f"If {ready.name} {way.condition}, {outcome}, and {saving}.{way.remark}"
            yield WayTold(
                **named(ready), **way.members, saving_cents=hint.saving_cents, sentence=sentence
            )

    def _way(self, hint: Hint, ready: ReadyDestination, lots: Sequence[UUID]) -> _Way | None:
        """Return the hint as something that people could agree on, None if they could not."""
        if hint.kind == "accepts":
            return self._yes(ready, lots)
        amount = hint.amount or 0
        if hint.kind == "more_room_kg":
            return self._room(ready, amount)
        if hint.kind == "fee_below_cents_per_t":
            return self._fee(ready, amount)
        span = self._made.facts.span
        until = span.at_second(amount).astimezone(span.zone)
        return _Way(
            members={"kind": "open_until", "open_until": until},
            condition=f"took its last load at {until:%H:%M}",
        )

    def _room(self, ready: ReadyDestination, more_kg: int) -> _Way | None:
        limit = self._limit(ready)
        if limit is None or limit.rule_class not in WHO_SETS_ROOM:
            return None
        return _Way(
            members={
                "kind": "more_room",
                "more_room_high_kg": more_kg,
                "code": limit.code,
                "rule_class": limit.rule_class,
            },
            condition=f"had room for {more_kg} kg more",
            remark=f" Its limit now: {limit.sentence}",
        )

    def _fee(self, ready: ReadyDestination, below: int) -> _Way | None:
        """Return a fee on the site's own basis; the planner's is scaled to the likely mass.

        Both of the planner's figures are rounded: half a cent is taken off on the safe side.
        None if nobody would agree to it.
        """
        counted = self._fees[self._key[ready.id]]
        if ready.fee is None or ready.fee.basis not in FEE_UNITS:
            return None
        fee_cents = ready.fee.amount_cents * (2 * below - 1) // (2 * counted + 1)
        unit = FEE_UNITS[ready.fee.basis]
        if fee_cents < max(1, LEAST_FEE_SHARE * ready.fee.amount_cents):
            return None
        return _Way(
            members={
                "kind": "fee_below",
                "fee_below_cents": fee_cents,
                "fee_basis": ready.fee.basis.value,
            },
            condition=f"charged less than {fee_cents / 100:.2f} {unit}",
        )

    def _yes(self, ready: ReadyDestination, lots: Sequence[UUID]) -> _Way | None:
        refusals = self._refusals(ready, lots)
        if not refusals or any(
            (said.rule_class not in WHO_MAY_SAY_YES and said.code not in NEVER_ASKED)
            or said.code.startswith(ABOUT_THE_LOT)
            for said in refusals
        ):
            return None
        said = refusals[0]
        now = "" if said.code in NEVER_ASKED else "It says now: "
        return _Way(
            members={"kind": "accepts", "code": said.code, "rule_class": said.rule_class},
            condition="took what is aboard",
            remark=f" {now}{said.sentence} Any other rule against it would still hold.",
        )

    def _limit(self, ready: ReadyDestination) -> Verdict | None:
        """Return the verdict whose limit is the room that the planner counts with."""
        lots = {job_id for piece in self._made.built.pieces.values() for job_id, _ in piece.shares}
        told = [said for said in self._said(ready, lots) if not said.refused]
        return min(told, key=lambda said: (said.accepted_kg, said.code), default=None)

    def _refusals(self, ready: ReadyDestination, lots: Iterable[UUID]) -> list[Verdict]:
        return [said for said in self._said(ready, lots) if said.refused]

    def _said(self, ready: ReadyDestination, lots: Iterable[UUID]) -> list[Verdict]:
        """Return what a destination says to some lots."""
        position, verdicts = self._position[ready.id], self._made.asked.verdicts
        return [verdicts[job_id][position] for job_id in lots if job_id in verdicts]

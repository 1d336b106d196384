"""One lawn before it is mown: what is known of it, the answer, and which missing word decides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final, TypeVar
from uuid import UUID

from service.core.jobs import Job
from service.core.materials import ClippingsHandling, TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.places import Point
from service.core.plans import Verdict
from service.destinations.estimating import estimate_lot
from service.destinations.lawn import LawnAdvice, SeenThere, lawn_advice
from service.destinations.lots import find_lot
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import Lot
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import COLLECTABLE, HELD
from service.usecases.base.lots.lot_facts import LotFacts
from service.usecases.day.destinations import Asked, TurnedAway, ask_all, ready_destinations
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import kept_by, with_freezes
from service.usecases.day.overrides import with_overrides


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the crew says of the lawn; None: it did not say, and a planned job may."""

    height_removed_mm: float | None = None
    wetness: Wetness | None = None
    treatment_history: TreatmentHistory | None = None
    weeds_in_seed: bool | None = None
    disease_seen: bool | None = None
    seen: SeenThere = field(default_factory=SeenThere)


AnyWord = TypeVar("AnyWord")

# A day's destinations by their ids, by the planned loads that take room of them.
MadeReady = dict[frozenset[UUID], dict[object, ReadyDestination]]

SEEN_FIELDS: Final = frozenset({"ground_wet", "drought", "collect_wanted"})
# What is asked of whoever did not say it: the field, and the word that could change the answer.
COULD_BE: Final[tuple[tuple[str, str, Callable[[Said], Said]], ...]] = (
    (
        "treatment_history",
        TreatmentHistory.NONE_RECORDED.value,
        lambda said: replace(said, treatment_history=TreatmentHistory.NONE_RECORDED),
    ),
    ("weeds_in_seed", "true", lambda said: replace(said, weeds_in_seed=True)),
    ("disease_seen", "true", lambda said: replace(said, disease_seen=True)),
    (
        "ground_wet",
        "true",
        lambda said: replace(said, seen=replace(said.seen, ground_wet=True)),
    ),
    ("drought", "true", lambda said: replace(said, seen=replace(said.seen, drought=True))),
    (
        "collect_wanted",
        "true",
        lambda said: replace(said, seen=replace(said.seen, collect_wanted=True)),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LawnAnswer:
    """One answer, with what it was made from."""

    advice: LawnAdvice
    lot: Lot
    job: Job
    elsewhere: tuple[Verdict, ...]

    @property
    def word(self) -> str:
        """Return what the crew does."""
        if self.advice.must or self.advice.better:
            return "leave_on_lawn"
        return "collect" if self.willing else "collect_to_hold"

    @property
    def willing(self) -> tuple[Verdict, ...]:
        """Return the verdicts of the beds and sites that take the clippings."""
        return tuple(verdict for verdict in self.elsewhere if not verdict.refused)


@dataclass(frozen=True, kw_only=True, eq=False)
class LawnQuestion:
    """A lawn on a day, that can be asked about again with other words.

    Several lawns of one day share what they have ``made_ready``.
    """

    facts: DayFacts
    lot_facts: LotFacts
    job: Job
    planned: Job | None
    rulebook: Rulebook
    made_ready: MadeReady = field(default_factory=dict)

    @property
    def home(self) -> Point:
        """Return where the lawn is."""
        return self.lot_facts.properties[self.job.property_id].point

    @cached_property
    def ready(self) -> dict[object, ReadyDestination]:
        """Return the day's destinations by their ids, with the room that is left for this lawn."""
        # What is planned for the day takes room too: the crew asks what is left for it. Its own
        # planned load takes none: that is the room it asks about.
        others = tuple(
            load
            for load in self.facts.planned_loads
            if all(part.job_id != self.job.id for part in load.parts)
        )
        # Lawns of one load leave the same room: a day's hundred beds are made ready for it once.
        taken = frozenset(load.id for load in others)
        if taken not in self.made_ready:
            booked = replace(self.facts, elsewhere=(*self.facts.elsewhere, *others))
            made = ready_destinations(booked, rulebook=self.rulebook)
            self.made_ready[taken] = {item.id: item for item in made}
        return self.made_ready[taken]

    def completed(self, said: Said) -> Said:
        """Return what was said, and where it was not, what the planned job says."""
        planned = self.planned
        if planned is None:
            return said
        wanted = planned.clippings is ClippingsHandling.COLLECTED
        return replace(
            said,
            treatment_history=said.treatment_history or _told(planned.treatment_history),
            # A job tells what was seen; what it does not tell nobody has seen yet.
            weeds_in_seed=_first(said.weeds_in_seed, planned.weeds_in_seed or None),
            disease_seen=_first(said.disease_seen, planned.disease_seen or None),
            seen=replace(said.seen, collect_wanted=_first(said.seen.collect_wanted, wanted)),
        )

    def answer(self, said: Said) -> LawnAnswer:
        """Return the answer to what was said."""
        job = self._job_as(said)
        here = self.facts.rules(self.rulebook)
        estimate = estimate_lot(job, latitude=self.home.latitude, here=here)
        job = replace(job, estimate=estimate)
        lot = find_lot(
            job,
            treatments=self.lot_facts.treatments_for(job),
            mowings=self.lot_facts.mowings_for(job),
            here=here,
        )
        asked = self._asked(lot)
        elsewhere = asked.of(job.id, COLLECTABLE)
        advice = lawn_advice(
            job,
            lot,
            elsewhere,
            held=asked.of(job.id, HELD),
            here=here,
            seen=said.seen,
        )
        advice = kept_by(advice, job, self.facts.recalls)
        return LawnAnswer(advice=advice, lot=lot, job=job, elsewhere=tuple(elsewhere))

    def undecided(self, said: Said, answered: LawnAnswer) -> list[dict[str, object]]:
        """Return what nobody has said yet and would change the answer, with what it would be."""
        found: list[dict[str, object]] = []
        for name, word, said_so in COULD_BE:
            told = getattr(said.seen if name in SEEN_FIELDS else said, name)
            if told is not None and told is not TreatmentHistory.UNKNOWN:
                continue
            other = self.answer(said_so(said))
            if (other.word, other.advice.must) != (answered.word, answered.advice.must):
                found.append(
                    {
                        "field": name,
                        "if": word,
                        "answer": other.word,
                        "code": other.advice.code,
                        "sentence": other.advice.sentence,
                        "facts": other.advice.facts,
                    }
                )
        return found

    def _asked(self, lot: Lot) -> Asked:
        asked = ask_all(
            {lot.job_id: lot},
            list(self.ready.values()),
            turned_away=TurnedAway.on(self.facts),
        )
        # A place that was chosen by hand is asked as the plan asks it: one answer in both.
        planned = (*self.facts.planned_loads, *self.facts.lost_locks)
        return with_freezes(with_overrides(asked, planned), self.facts.recalls)

    def _job_as(self, said: Said) -> Job:
        """Return the job as the crew sees it."""
        job = self.job
        if said.height_removed_mm is not None:
            job = replace(
                job,
                height_before=None,
                height_after=None,
                height_removed=Measure(value=said.height_removed_mm, unit="mm"),
            )
        return replace(
            job,
            wetness=said.wetness or job.wetness,
            treatment_history=said.treatment_history or job.treatment_history,
            weeds_in_seed=job.weeds_in_seed if said.weeds_in_seed is None else said.weeds_in_seed,
            disease_seen=job.disease_seen if said.disease_seen is None else said.disease_seen,
        )


def differs(one: LawnAnswer, other: LawnAnswer) -> bool:
    """Tell whether two answers are of other grass, or send a crew to do something else with it."""
    return _sense(one) != _sense(other)


def _sense(answer: LawnAnswer) -> tuple[object, ...]:
    return answer.lot.statuses, answer.word, answer.advice.must


def _told(history: TreatmentHistory) -> TreatmentHistory | None:
    return None if history is TreatmentHistory.UNKNOWN else history


def _first(*words: AnyWord | None) -> AnyWord | None:
    """Return the first word that was said."""
    return next((word for word in words if word is not None), None)

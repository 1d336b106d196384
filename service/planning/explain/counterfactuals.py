"""What would change the answer: the least change of one destination that does, found by solving.

A vehicle is planned again with one destination open longer, roomier, cheaper or less choosy, all
other vehicles staying as they are. The amount is lowered until a minute, a kilogram or a cent less
would not do: so a hint is true, not an estimate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.planning.arrays.inputs import CIN, COUT, DEST, FIX
from service.planning.arrays.tables import HOLD, UNITS_PER_CENT, Tables
from service.planning.explain.destination_changes import Alone, Change, takes_with
from service.planning.explain.one_vehicle import labels_allowed
from service.planning.explain.possible_changes import LEAST_SAVING, Lever, levers_of
from service.planning.explain.tip_moments import Moment, barrier_code
from service.planning.model.result import Hint, RunnerUp
from service.planning.search.construction import Fleet, left_by
from service.planning.tip_plans.columns import Column, Tips
from service.planning.tip_plans.shortlists import NOWHERE

MOST_SOLVES = 300  # in a plan; those of held and unplaced loads come first
MOST_TRIED = 5  # willing destinations a tip
MOST_UNWILLING = 3  # and destinations that refuse what is aboard
MOST_TOLD = 3  # hints a tip
MOST_STEPS = 24  # solves for one amount
# Of one vehicle's questions, so that one hard day does not use up all; not if a load has no place.
LABELS_FOR_ONE = 25_000
# Common practice, no source: a choice that is this near may be worth a telephone call.
CLOSE_CENTS = 1_000
PERMILLE = 1_000

Gone = Callable[[Tips], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A tip, or a part left unplaced, of which it is asked what would change it."""

    vehicle: int
    moment: Moment
    runner_up: RunnerUp | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A vehicle's better day after so many steps of a change, and how many may be enough."""

    saving: int
    steps: int
    guess: int


def hints_for(
    fleet: Fleet, columns: list[Column], questions: list[Question], *, about: frozenset[int]
) -> list[tuple[Hint, ...]]:
    """Return a few hints for each question, the change that asks for the least first.

    Only the vehicles with the numbers in ``about`` are asked about.

    Unplaced loads are asked about first, then held ones: the first of each vehicle, the second, and
    so on; then tips whose runner-up is near; until the solves or their labels are used up. Both are
    counts that do not depend on the machine.
    """
    search = _Search(fleet, columns)
    answers: list[tuple[Hint, ...]] = [()] * len(questions)
    order: list[tuple[int, bool, int, int]] = []
    ranks: dict[int, int] = {}
    for place, question in enumerate(questions):
        if question.vehicle not in about:
            continue
        ranks[question.vehicle] = ranks.get(question.vehicle, 0) + 1
        placed = question.moment.number != NOWHERE
        order.append((_urgency(fleet.tables, question), placed, ranks[question.vehicle], place))
    for *_, place in sorted(order):
        if search.spent():
            break
        if _urgency(fleet.tables, questions[place]) <= CLOSE_CENTS:
            answers[place] = search.answer(questions[place])
    return answers


def _urgency(tables: Tables, question: Question) -> int:
    """Return -1 for a held or unplaced load, else the extra cents of the runner-up."""
    number = question.moment.number
    if number == NOWHERE or tables.problem.destinations[number].kind == HOLD:
        return -1
    runner = question.runner_up
    if runner is None or runner.extra_cents is None:
        return CLOSE_CENTS + 1
    return runner.extra_cents


class _Search:
    """Solves vehicles again, and counts how often."""

    def __init__(self, fleet: Fleet, columns: list[Column]) -> None:
        self.fleet, self.tables, self.columns = fleet, fleet.tables, columns
        self.left = MOST_SOLVES
        self.left_kg = left_by(fleet.tables, columns)
        self.known: dict[int, Alone] = {}
        self.labels = labels_allowed(len(columns))

    def spent(self) -> bool:
        """Tell whether nothing more may be asked."""
        labels = sum(alone.planner.labels for alone in self.known.values())
        return self.left <= 0 or labels >= self.labels

    def answer(self, question: Question) -> tuple[Hint, ...]:
        moment, number = question.moment, question.vehicle
        if number not in self.known:
            self.left -= 1
            self.known[number] = Alone.of(self.fleet, self.columns[number], self.left_kg)
        alone = self.known[number]
        gone = _gone(self.tables, self.columns[number].tips, moment)
        locked = (moment.gap, moment.number) in {(g, d) for g, d, _ in alone.vehicle.locks.tolist()}
        if locked or gone(alone.tips):
            return ()
        ranked: list[tuple[int, int, Hint]] = []
        patient = moment.number == NOWHERE
        for place, other in enumerate(self._candidates(alone, question)):
            if self.spent() or (alone.planner.labels >= LABELS_FOR_ONE and not patient):
                break
            ranked += [
                (effort, place, hint) for effort, hint in self._at(alone, moment, other, gone)
            ]
        ranked.sort(key=lambda item: item[:2])
        return tuple(hint for _, _, hint in ranked[:MOST_TOLD])

    def _candidates(self, alone: Alone, question: Question) -> list[int]:
        """Return where else the load might go, nearest and cheapest first."""
        moment, d = question.moment, self.tables.destinations
        every = self.tables.problem.destinations
        urgent = _urgency(self.tables, question) < 0
        named = set() if question.runner_up is None else set(question.runner_up.destinations)
        scored: dict[bool, list[tuple[int, int]]] = {True: [], False: []}
        for row in alone.rows(moment.gap):
            other = int(row[DEST])
            if other in {NOWHERE, moment.number} or every[other].kind == HOLD:
                continue
            if urgent or every[other].id in named:
                score = int(row[CIN] + row[COUT] + row[FIX]) + int(d.fee[other]) * moment.kg
                willing = barrier_code(self.tables, other, moment) is None
                scored[willing].append((score, other))
        best = sorted(scored[True])[:MOST_TRIED] + sorted(scored[False])[:MOST_UNWILLING]
        return [other for _, other in sorted(best)]

    def _at(self, alone: Alone, moment: Moment, number: int, gone: Gone) -> list[tuple[int, Hint]]:
        """Return the first change at a destination that does, with its effort in permille."""
        destination = self.tables.problem.destinations[number]
        code = barrier_code(self.tables, number, moment)
        if code is not None:
            return self._welcome(alone, moment, number, code, gone)
        for lever in levers_of(alone, moment, number):
            found = self._least(alone, lever, gone)
            if found is not None:
                hint = Hint(
                    kind=lever.kind,
                    destination=destination.id,
                    amount=lever.amount(found.steps),
                    saving_cents=found.saving // UNITS_PER_CENT,
                )
                return [(found.steps * PERMILLE // lever.most, hint)]
        return []

    def _welcome(
        self, alone: Alone, moment: Moment, number: int, code: str, gone: Gone
    ) -> list[tuple[int, Hint]]:
        """Return what it saves if a destination takes the load that it refuses, if anything."""
        destination = self.tables.problem.destinations[number]
        bits = takes_with(
            self.tables,
            alone.vehicle,
            destination,
            statuses=moment.statuses,
            lots=moment.lots,
        )
        found = self._solve(alone, Change(number=number, takes=bits), gone)
        if found is None:
            return []
        saving = (alone.least - found[0]) // UNITS_PER_CENT
        hint = Hint(kind="accepts", destination=destination.id, saving_cents=saving, code=code)
        return [(PERMILLE + 1, hint)]

    def _solve(self, alone: Alone, change: Change, gone: Gone) -> tuple[int, Tips] | None:
        """Return the vehicle's best day after a change, if it is cheaper and without the tip."""
        self.left -= 1
        found = alone.best(change, alone.least - LEAST_SAVING)
        return found if found is not None and gone(found[1]) else None

    def _least(self, alone: Alone, lever: Lever, gone: Gone) -> _Found | None:
        """Return the least step count that does, one less being shown not to; None if none does.

        It is looked for from above, further down each time, as a day found rarely needs much more
        than the least; once too little is known, what lies between is halved.
        """

        def at(steps: int) -> _Found | None:
            found = self._solve(alone, lever.change(steps), gone)
            if found is None:
                return None
            needed = lever.needs(steps, *found)
            if not (lever.same_day and 0 < needed < steps):
                return _Found(saving=alone.least - found[0], steps=steps, guess=needed)
            return _Found(saving=alone.least - found[0], steps=needed, guess=needed)

        best = at(lever.most) if lever.most >= 1 else None
        low, stride = 0, 1
        for _ in range(MOST_STEPS):
            if best is None or best.steps - low <= 1:
                return best
            if low < best.guess < best.steps:
                guess = best.guess
            elif stride < best.steps - low and low == 0:
                guess, stride = best.steps - stride, 2 * stride
            else:
                guess = (low + best.steps) // 2
            found = at(guess)
            if found is None:
                low = guess
            else:
                best = found
        return None


def _gone(tables: Tables, tips: Tips, moment: Moment) -> Gone:
    """Return a test whether a day does without a tip.

    A held or unplaced load counts as gone if so much less is held or left in the whole day:
    holding it a stop later is no other answer.
    """
    every = tables.problem.destinations

    def waiting(some: Tips) -> int:
        if moment.number == NOWHERE:
            return sum(kg for _, number, kg in some if number == NOWHERE)
        return sum(kg for _, d, kg in some if d != NOWHERE and every[d].kind == HOLD)

    if moment.number == NOWHERE or every[moment.number].kind == HOLD:
        most = waiting(tips) - moment.kg
        return lambda some: waiting(some) <= most
    stop = (moment.gap, moment.number)
    return lambda some: stop not in {(gap, number) for gap, number, _ in some}

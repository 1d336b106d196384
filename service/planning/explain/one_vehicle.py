"""One vehicle planned again and again, all others staying: what explanations ask for.

Most days tip nowhere twice. So the vehicle is planned first as if room counted for each tip by
itself, which is the fastest; only if a day found so overfills a destination is that one's use
tracked, from then on for every question about this vehicle.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field

from service.planning.arrays.inputs import TRACK
from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.labelling.labels import TRACKED
from service.planning.tip_plans.columns import Tips, overdrawn, price_shortlist
from service.planning.tip_plans.shortlists import Shortlist, rules

ROUNDS = 3  # solves with more and more destinations tracked
LEAST_LABELS = 20  # what a solve counts for that looks at next to none
# Labels that a plan's questions may cost, of one kind: so many a vehicle, but in all no more than a
# start and a share for each. A count, so that the answer does not depend on the machine.
LABELS_A_VEHICLE = 40_000
LABELS_AT_FIRST = 200_000
LABELS_FOR_EACH = 2_000


def labels_allowed(vehicles: int) -> int:
    """Return how many labels the questions about a plan of so many vehicles may cost."""
    return min(LABELS_A_VEHICLE * vehicles, LABELS_AT_FIRST + LABELS_FOR_EACH * vehicles)


@dataclass(slots=True, kw_only=True)
class Again:
    """Plans one vehicle again, and counts what it costs.

    ``beam`` labels are looked at after a job; ``labels`` counts those of all solves so far. If it
    is ``thorough``, it counts a destination's use in both ways before it says that nothing is
    better.
    """

    vehicle: VehicleTables
    beam: int
    thorough: bool = False
    tracked: list[int] = field(default_factory=list)
    labels: int = 0

    def best(
        self, tables: Tables, listed: Shortlist, *, room: Whole, cutoff: int
    ) -> tuple[int, Tips] | None:
        """Return cost [units] and tips of the best legal day, None if none is below the cutoff.

        Parameters
        ----------
        room
            Kilograms that the others leave at each destination.
        cutoff
            Nothing dearer is of interest [units].
        """
        near = listed.road.near.copy()
        listed = dataclasses.replace(listed, road=listed.road._replace(near=near))
        for place, number in enumerate(self.tracked):
            near[listed.who == number, TRACK] = place
        for _ in range(TRACKED + 1 if self.thorough else ROUNDS):
            found = self._solve(tables, listed, room, cutoff, elementary=False)
            twice = [] if found is None else overdrawn(found[1], room, [])
            if not twice:
                break
            new = [number for number in twice if number not in self.tracked]
            if not new or len(self.tracked) >= TRACKED:
                break
            for number in new[: TRACKED - len(self.tracked)]:
                near[listed.who == number, TRACK] = len(self.tracked)
                self.tracked.append(number)
        if twice:
            found = None
        elif not self.tracked or not self.thorough:
            return found
        # a tracked destination's credits close early: the other way to count may do better
        near[:, TRACK] = -1
        under = cutoff if found is None else found[0] - 1
        return self._solve(tables, listed, room, under, elementary=True) or found

    def _solve(
        self, tables: Tables, listed: Shortlist, room: Whole, cutoff: int, *, elementary: bool
    ) -> tuple[int, Tips] | None:
        rule = rules(
            tables, self.vehicle, results=1, elementary=elementary, cutoff=cutoff, beam=self.beam
        )
        reds, lengths, tips, made = price_shortlist(
            tables, listed, rule, prices=tables.destinations.fee, room=room
        )
        self.labels += max(made, LEAST_LABELS)
        if not len(reds):
            return None
        return int(reds[0]), tuple((g, d, kg) for g, d, kg in tips[0, : lengths[0]].tolist())

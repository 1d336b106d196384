"""Who of a standing day is planned again: those concerned, whom they displace, who is offered room.

Everybody else keeps every stop.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from service.planning.arrays.tables import Whole
from service.planning.events.repair import Local
from service.planning.search.construction import take
from service.planning.tip_plans.shortlists import NOWHERE


def plan_concerned(
    local: Local,
    concerned: Mapping[int, str],
    *,
    before_kg: Whole,
    why: str,
    displaced: Collection[int],
) -> None:
    """Plan those concerned again, and whom they displace.

    Parameters
    ----------
    concerned
        Numbers of vehicles, and why each is planned again.
    before_kg
        The room left before; destinations that are overfull now and were not so are relieved.
    why
        What happened, told to those who make way.
    displaced
        Those of them who lost tips. Only if there are any, if a destination overflows, or if
        material is left over, others are asked to make way.
    """
    for number, cause in concerned.items():
        local.alone(number, cause=cause)
    asked = local.relieve(before_kg, why)
    left_over = [
        number
        for number in concerned
        if any(d == NOWHERE for _, d, _ in local.columns[number].tips)
    ]
    overfull = (local.left_kg < 0) & (local.left_kg < before_kg)
    if overfull.any() or left_over or asked or displaced:
        first = dict.fromkeys([*left_over, *asked, *displaced, *concerned])
        local.together(list(first), why)
    elif len(concerned) > 1:
        local.together(list(concerned), why, within=concerned)


def offer(local: Local, number: int, places: Mapping[int, str]) -> bool:
    """Ask a vehicle whether it gains by going to destinations that take more than before.

    It moves only if its best day takes more to one of them; true if it does.

    Parameters
    ----------
    places
        Numbers of destinations, and why each takes more.
    """
    if number in local.causes:
        return False
    old = local.columns[number]
    local.alone(number, cause="")
    new = local.columns[number]
    said = [why for d, why in places.items() if new.use().get(d, 0) > old.use().get(d, 0)]
    if said:
        local.causes[number] = "; ".join(said)
        return True
    take(local.left_kg, new, -1)
    take(local.left_kg, old)
    local.columns[number] = old
    del local.causes[number]
    return False

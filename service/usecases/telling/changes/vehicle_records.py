"""That a lot goes elsewhere because the record of its vehicle says otherwise now."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

Told = Mapping[str, Any]
SAYS: Final = {
    "payload_kg": "may carry {:,g} kg by its record now; it was {:,g} kg",
    "body_volume_m3": "holds {:g} m3 by its record now; it was {:g} m3",
}


def vehicle_otherwise(lot: Told, before: Told, after: Told) -> tuple[str, str] | None:
    """Return that its vehicle may carry, or holds, otherwise by now; older routings tell it not.

    Parameters
    ----------
    lot
        In the routing after.
    before, after
        Routings as they were told.
    """
    now, was = (_vehicle(lot, told) for told in (after, before))
    for name, words in SAYS.items():
        if None not in {now.get(name), was.get(name)} and now[name] != was[name]:
            said = words.format(now[name], was[name])
            return "vehicle_otherwise", f"{now['registration']} {said}."
    return None


def _vehicle(lot: Told, routing: Told) -> Told:
    own = (one for one in routing["vehicles"] if one["vehicle_id"] == lot.get("vehicle_id"))
    return next(own, {})

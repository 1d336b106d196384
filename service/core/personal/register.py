"""Where what is kept tells of a client, and what becomes of each when the client is erased.

One line a stored text: by the name of the table, and of the field, with dots into what is nested.
Numbers, days, ids and words of a closed list tell of grass and places; what of them is a client's
all the same (points, the standing consent) is here too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Fate(StrEnum):
    """What becomes of a text when its client is erased.

    ``SEARCHED`` tells of many: what it says of the client is replaced in it, the rest stays.
    """

    EMPTIED = "emptied"
    REPLACED = "replaced"
    COARSENED = "coarsened"
    ENDED = "ended"
    SEARCHED = "searched"
    KEPT = "kept"


@dataclass(frozen=True, slots=True)
class Line:
    """A stored text of clients: what becomes of it, and why, where that is not plain."""

    table: str
    field: str
    fate: Fate
    why: str = ""


_PRODUCT: Final = (
    "whoever uses plant protection products keeps records of them for at least three years "
    "(Regulation (EC) No 1107/2009, article 67)"
)
_WASTE: Final = "it is of the grass, and names nobody: what was moved where must be shown for years"
_BASIS: Final = "the ground on which waste was spread must be shown; it names a place in a register"

# A law is named where one asks for what stays; which binds, and for how long, depends on the place.
OF_CLIENTS: Final = (
    Line("clients", "name", Fate.REPLACED),
    Line("clients", "phone", Fate.EMPTIED),
    Line("clients", "email", Fate.EMPTIED),
    Line("clients", "address", Fate.EMPTIED),
    Line("properties", "name", Fate.REPLACED),
    Line("properties", "address", Fate.REPLACED),
    Line("properties", "locality", Fate.KEPT, "all that others ever learn; notes name it"),
    Line("properties", "point", Fate.COARSENED),
    Line("properties", "access_notes", Fate.EMPTIED),
    Line("properties", "may_sign", Fate.EMPTIED),
    Line("lawns", "name", Fate.REPLACED),
    Line("beds", "name", Fate.REPLACED),
    Line("beds", "point", Fate.EMPTIED),
    Line("beds", "sensitive_plants", Fate.EMPTIED),
    Line("beds", "where_to_lay", Fate.EMPTIED),
    Line("beds", "consent", Fate.ENDED, "withdrawn: it is nobody's any more"),
    Line("beds", "legal_basis.reference", Fate.KEPT, _BASIS),
    Line("beds", "opening_balance.stated_by", Fate.REPLACED),
    Line("treatments", "product", Fate.KEPT, _PRODUCT),
    Line("treatments", "active_ingredients", Fate.KEPT, _PRODUCT),
    Line("treatments", "stated_by", Fate.REPLACED),
    Line("treatments", "bioassay.stated_by", Fate.REPLACED),
    Line("treatments", "remarks", Fate.EMPTIED),
    Line("jobs", "remarks", Fate.EMPTIED),
    Line("jobs", "lot_code", Fate.KEPT, _WASTE),
    Line("jobs", "findings", Fate.SEARCHED),
    Line("loads", "refusal_reason", Fate.REPLACED),
    Line("loads", "override_reason", Fate.REPLACED),
    Line("loads", "explanation", Fate.SEARCHED),
    Line("loads", "weigh_ticket", Fate.KEPT, _WASTE),
    Line("hold_entries", "reason", Fate.SEARCHED),
    Line("hold_entries", "release_condition", Fate.SEARCHED),
    Line("hold_entries", "released_to", Fate.REPLACED),
    Line("hold_entries", "temperatures.measured_by", Fate.REPLACED),
    Line("mass_movements", "reason", Fate.REPLACED),
    Line("delivery_notes", "content", Fate.SEARCHED),
    Line("delivery_notes", "content.receiver.name", Fate.REPLACED),
    Line("delivery_notes", "content.receiver.place", Fate.REPLACED),
    Line("delivery_notes", "content.receiver.access_notes", Fate.REPLACED),
    Line("delivery_notes", "content.receiver.may_sign", Fate.EMPTIED),
    Line("delivery_notes", "content.bed.name", Fate.REPLACED),
    Line("delivery_notes", "content.bed.sensitive_plants", Fate.REPLACED),
    Line("delivery_notes", "acknowledgement.name", Fate.EMPTIED),
    Line("delivery_notes", "acknowledgement.accepted", Fate.EMPTIED),
    Line("delivery_notes", "acknowledgement.remark", Fate.EMPTIED),
    Line("recalls", "content", Fate.SEARCHED),
    Line("recalls", "brought_since", Fate.SEARCHED),
    Line("recalls", "reason", Fate.REPLACED),
    Line("recalls", "calls.said", Fate.EMPTIED, "of calls to the client"),
    Line("day_closings", "content", Fate.SEARCHED),
    Line("day_closings", "remarks", Fate.SEARCHED),
    Line("day_plans", "routing", Fate.SEARCHED),
    Line("folded_plans", "said", Fate.EMPTIED, "of plans that others superseded"),
    Line("settled_loads", "known", Fate.SEARCHED),
    Line("vehicle_outages", "reason", Fate.SEARCHED),
    Line("vehicle_outages", "remarks", Fate.SEARCHED),
    Line("amendments", "reason", Fate.REPLACED),
    Line("amendments", "changes", Fate.SEARCHED, "each as the field that was changed"),
    Line("answers", "body", Fate.SEARCHED),
    Line("searches", "answer", Fate.KEPT, "what was only supposed, dropped after an hour"),
    Line("api_keys", "name", Fate.REPLACED, "the key itself is revoked"),
)

# Stored texts that tell of no client, and of whom or what they do.
OF_OTHERS: Final[Mapping[str, str]] = {
    "answers.headers": "where the record is, and how the answer is written",
    "answers.key": "made by the caller's program",
    "answers.request_sha256": "a digest",
    "amendments.record_kind": "of a closed list",
    "api_keys.role": "of a closed list",
    "api_keys.secret_sha256": "a digest",
    "compost_sites": "a business: its operator, its gate and its evidence",
    "crews": "the firm's own people",
    "day_closings.sha256": "a digest",
    "day_plans.record_versions": "ids and numbers",
    "day_plans.rulebook_version": "of the rules",
    "delivery_notes.acknowledgement.reason": "of a closed list",
    "delivery_notes.language": "of a closed list",
    "delivery_notes.number": "a running number",
    "delivery_notes.sha256": "a digest",
    "depots": "the firm's own yard",
    "clients.language": "of a closed list",
    "erasures": "who erased whom is kept by ids, without the person",
    "firms": "the firm itself",
    "hold_bays": "the firm's own yard",
    "hold_entries.lot_codes": "of the grass",
    "hold_entries.mass_kg": "an estimate",
    "hold_entries.volume_m3": "an estimate",
    "hold_entries.reason_code": "of a closed list",
    "hold_entries.release_condition_code": "of a closed list",
    "jobs.estimate": "numbers, and the rules behind them",
    "jobs.size_word.said_by": "the role of whoever said so",
    "loads.mass_kg": "an estimate",
    "loads.nitrogen_kg": "an estimate",
    "loads.parts.lot_code": "of the grass",
    "loads.volume_m3": "an estimate",
    "mass_balances.place_kind": "of a closed list",
    "mass_movements.from_kind": "of a closed list",
    "mass_movements.lot_code": "of the grass",
    "mass_movements.to_kind": "of a closed list",
    "place_sums.place_kind": "of a closed list",
    "recalls.sha256": "a digest",
    "searches.kind": "of a closed list",
    "searches.role": "of a closed list",
    "searches.state": "of a closed list",
    "searches.wanted": "ids, a day and numbers",
    "sessions": "people of the firm and of sites",
    "vehicle_outages.point": "where the firm's own vehicle stands",
    "vehicles": "the firm's own",
    "weighed_loads.grass_group": "of a closed list",
    "weighed_loads.lawn": "an id",
}


def fates_of(table: str) -> dict[str, Fate]:
    """Return by field what becomes of the texts of a client's own row of a table."""
    return {line.field: line.fate for line in OF_CLIENTS if line.table == table}


def searched_in(table: str) -> tuple[str, ...]:
    """Return the fields of a table in which a client is searched for in every row of the firm."""
    fields = (line.field for line in OF_CLIENTS if line.table == table)
    return tuple(dict.fromkeys(field.partition(".")[0] for field in fields))

"""An anaerobic digester, written as the numbered list in DEVELOPERS.md has it: what goes where.

Green waste with much water is worth something to whoever makes gas of it, while it is fresh and
free of litter and of what would poison the tank. All of it is invented.
"""

WORD = "digester"
TITLE = "Let clippings go to a digester"

PLACES = "service/core/places.py"
VERDICTS = "service/destinations/digester.py"
TABLE = "service/usecases/base/destination_kinds.py"
ROWS = "service/storage/tables/places.py"
RESOURCE = "service/api/books/sites.py"
CHANGES = "openapi/CHANGES.md"

RECORD = '''

@dataclass(frozen=True, slots=True, kw_only=True)
class Digester(Record):
    """An anaerobic digester that takes fresh clippings every day."""

    name: str
    point: Point
    daily_capacity_kg: float
    fee: Fee
    unloading_minutes: int = 10
'''

HOURS_IMPORT = "from service.core.acceptance.hours import OpeningHours, hours_faults\n"
FEE_IMPORT = "from service.core.acceptance.fees import Fee\n"

VERDICT = '''"""Anaerobic digesters: they take nothing that would poison the tank."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from service.core.materials import LotStatus
from service.core.places import DestinationKind, Digester, Point
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.ready import DepotDay, ReadyDestination, taken_kg
from service.destinations.verdicts import (
    Clippings,
    Limit,
    Reason,
    accepted,
    refused,
    treatment_reason,
)

TAKEN = frozenset({LotStatus.CLEAN, LotStatus.WEEDY, LotStatus.DISEASED})


class DigesterDestination:
    """One digester on one day, with what it already gets."""

    kind = DestinationKind.DIGESTER
    property_id = None

    def __init__(self, digester: Digester, *, taken_kg: float) -> None:
        """Take the digester and the high end of what it got today."""
        self._digester = digester
        self._taken_kg = taken_kg

    @property
    def id(self) -> UUID:
        """Return the digester's id."""
        return self._digester.id

    @property
    def point(self) -> Point:
        """Return where its gate is."""
        return self._digester.point

    def verdict(self, lot: Clippings) -> Verdict:
        """Return what this digester says to the lot."""
        wait = lot.waits.get("compost_site")
        if wait is not None and not wait.over:
            return refused(self.kind, self.id, treatment_reason(wait))
        for status in sorted(lot.statuses - TAKEN):
            reason = Reason(
                code="digester_refuses_status",
                sentence=f"The digester does not take {status.value} clippings.",
                rule_class=RuleClass.SITE,
                ground=Ground.LOT,
                facts={"status": status.value},
            )
            return refused(self.kind, self.id, reason)
        room_kg = max(0.0, self._digester.daily_capacity_kg - self._taken_kg)
        limit = Limit(
            mass_kg=room_kg,
            code="digester_capacity",
            sentence=f"The digester takes {room_kg:.0f} kg more today.",
            rule_class=RuleClass.SITE,
            facts={"room_kg": round(room_kg, 1)},
        )
        return accepted(self.kind, self.id, [limit])


def ready_digesters(digesters: Sequence[Digester], at: DepotDay) -> list[ReadyDestination]:
    """Return digesters made ready for a depot's day: they take loads at any hour."""
    return [
        ReadyDestination(
            destination=DigesterDestination(
                digester, taken_kg=taken_kg(at.loads_to(digester.id))
            ),
            name=digester.name,
            tip_s=digester.unloading_minutes * 60,
            open_s=0,
            close_s=at.end_s,
            fee=digester.fee,
        )
        for digester in digesters
    ]
'''

HOLD_IMPORT = "from service.destinations.hold_bay"
DIGESTER_IMPORT = "from service.destinations.digester import ready_digesters\n"
HOLD_KIND = "        DestinationKind.HOLD_BAY: Kind(\n"
KIND = """        DestinationKind.DIGESTER: Kind(
            record=Digester,
            one="digester",
            many="digesters",
            repository="digesters",
            point=lambda digester, *_: digester.point,
            ready=ready_digesters,
            stop_cents=500,
            planner_word="digester",
            overflows_like="compost_site",
        ),
"""

ROW = '''

class DigesterRow(RecordRow, of=Digester):
    """An anaerobic digester."""

    __tablename__ = "digesters"

    __table_args__ = (
        *not_negative("daily_capacity_kg"),
        *counted_from(0, "unloading_minutes"),
    )
'''

FIELDS = '''class DigesterFields(RecordFields):
    """An anaerobic digester that takes fresh clippings."""

    record_type = Digester

    name = Text(longest=200)
    point = PointField()
    daily_capacity_kg = Number(low=0, high=10_000_000)
    fee = fields.Nested(FeeFields)
    unloading_minutes = Integer(low=1, high=240)


DIGESTERS: Final = Resource(
    path="digesters",
    one="digester",
    many="digesters",
    about="Anaerobic digesters: how much they take a day, and what it costs.",
    fields=DigesterFields,
    filters={"name": Text(longest=200)},
    example={
        "name": "Brook Gas",
        "point": {"type": "Point", "coordinates": [-1.28, 51.76]},
        "daily_capacity_kg": 9000,
        "fee": {"basis": "per_tonne", "amount_cents": 1500},
    },
    changes_example={"daily_capacity_kg": 8000},
)

'''

LINE = "| added | `digesters`, and `digester` as a `destination_kind`. | Show it. |\n"

# File -> what stands there, and what stands there afterwards; None: at the end, or a new file.
EDITS = {
    PLACES: (
        (HOURS_IMPORT, FEE_IMPORT + HOURS_IMPORT),
        ('    HOLD_BAY = "hold_bay"\n', '    HOLD_BAY = "hold_bay"\n    DIGESTER = "digester"\n'),
        (None, RECORD),
    ),
    VERDICTS: ((None, VERDICT),),
    TABLE: (
        ("    DestinationKind,\n", "    DestinationKind,\n    Digester,\n"),
        (HOLD_IMPORT, DIGESTER_IMPORT + HOLD_IMPORT),
        (HOLD_KIND, KIND + HOLD_KIND),
    ),
    ROWS: (("CompostSite, Depot, Hold", "CompostSite, Depot, Digester, Hold"), (None, ROW)),
    RESOURCE: (
        ("CompostSite, Depot, Hold", "CompostSite, Depot, Digester, Hold"),
        ("# Others' places", FIELDS + "# Others' places"),
        ("SITES: Final = (COMPOST_SITES,)", "SITES: Final = (COMPOST_SITES, DIGESTERS)"),
    ),
    CHANGES: ((None, LINE),),
}

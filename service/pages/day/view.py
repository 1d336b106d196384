"""A day's routing as the dispatcher's screen shows it: what stands where, in which words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from service.core.crews import Crew
from service.core.loads import HoldEntry
from service.pages.day.waiting import Waiting, waiting_of
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.decisions.decision import Decision, Urgency
from service.usecases.telling.decisions.said import TAKEN_BACK
from service.usecases.telling.warnings.subjects import MARK, named, unsaid

Members = Mapping[str, Any]

WORDS: Final = {
    "unplaced": "No place",
    "held_amber": "In the bay",
    "held_red": "In the bay",
    "held_hot": "Hot in the bay",
    "held_stays": "Stays in the bay",
    "aboard_overnight": "Aboard overnight",
    "going_sour": "Going sour",
    "gone_sour": "Sour",
    "long_under_way": "Not heard of",
    "at_gate": "At the gate",
    "lock_not_kept": "Lock not kept",
    "held_with_worse": "Held with worse",
    "site_shuts_first": "Shuts first",
    "site_word_old": "Word grown old",
    "ground_word_old": "Word grown old",
    "consent_ends": "Consent ends",
    "consent_ended": "Consent ended",
    "registration_ends": "Registration ends",
    "registration_ended": "Registration ended",
    "kill_evidence_ends": "Proof ends",
    "kill_evidence_ended": "Proof ended",
    "ticket_awaits_review": "Doubtful weight",
    "ticket_may_be_in_pounds": "Doubtful weight",
    "vehicle_was_overloaded": "Overloaded",
    "over_limit": "Too much there",
    "tipped_where_refused": "Tipped where refused",
    "bay_over_volume": "Bay too full",
    "possible_duplicate": "Said twice?",
    "recall_to_call": "Recall",
    "said_where_brought": "Seen in it",
    "lay_in_one_body": "Mixed",
    "vehicle_out": "Vehicle out",
    "load_stands": "A load stands",
    "nobody_takes_over": "Nobody takes over",
    "long_after_shift": "Long after the shift",
    "turned_away": "Sent away",
    "vehicle_may_overflow": "May be too heavy",
    "destination_may_overflow": "May not hold it all",
}

# Of these it is said on the screen, lot by lot, what is so.
ASKED: Final = frozenset({"possible_duplicate", *TAKEN_BACK})
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Something that waits for a word of the dispatcher, and where on the screen it stands.

    ``undecided`` are those, by their lots, of which it is said right here whether each is another
    cut, ``said_of`` those of whose clippings something was said, which may be taken back here.
    ``suppose`` is the query with which the screen of suppositions shows what would come of it.
    """

    word: str
    sentence: str
    subject: str = ""
    grave: bool = False
    anchor: str | None = None
    vehicle: str | None = None
    caution: str | None = None
    undecided: Mapping[str, str] = field(default_factory=dict)
    said_of: Mapping[str, str] = field(default_factory=dict)
    suppose: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleView:
    """One vehicle's day.

    ``overdue`` is how many stops it should have come to and did not report: one may be under way,
    with two it is late. ``ends_late`` is whether the last is planned after the shift.
    """

    letter: str
    told: Members
    crews: str
    done: tuple[Members, ...]
    ahead: tuple[Members, ...]
    overdue: int = 0
    ends_late: bool = False

    @property
    def id(self) -> str:
        """Its id."""
        found: str = self.told["vehicle_id"]
        return found

    @property
    def next(self) -> Members | None:
        """Where it goes next."""
        return self.ahead[0] if self.ahead else None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """Everything that is shown of a planned day."""

    decisions: tuple[Shown, ...]
    vehicles: tuple[VehicleView, ...]
    waiting: tuple[Waiting, ...]
    places: tuple[Members, ...]
    unused_places: tuple[Members, ...]
    lots: Mapping[str, Members] = field(repr=False)
    letters: Mapping[str, str] = field(repr=False)

    @property
    def held(self) -> tuple[Waiting, ...]:
        """What is held, or to be."""
        return tuple(row for row in self.waiting if row.is_held)

    @property
    def left(self) -> tuple[Waiting, ...]:
        """What is left on a lawn, or has no place."""
        return tuple(row for row in self.waiting if not row.is_held)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is to be minded with the decisions, each once: in every row nobody reads it."""
        return tuple(dict.fromkeys(one.caution for one in self.decisions if one.caution))


def day_view(
    look: DayLook, entries: Sequence[HoldEntry], decisions: Iterable[Decision] = ()
) -> DayView:
    """Return a planned day as it is shown.

    Parameters
    ----------
    look
        The day, with a plan.
    entries
        What is in the hold bays or expected there.
    decisions
        What waits for a word, the most urgent first.
    """
    routing: Members = {} if look.plan is None else look.plan.routing
    vehicles = [vehicle for vehicle in routing["vehicles"] if vehicle["stops"] or vehicle["out"]]
    letters = {v["vehicle_id"]: letter_of(number) for number, v in enumerate(vehicles)}
    crews = {str(crew.id): crew for crew in look.crews}
    lots = {lot["job_id"]: lot for lot in routing["lots"]}
    by_load = {str(entry.load_id): entry for entry in entries}
    shown = tuple(
        _vehicle(look, vehicle, letters[vehicle["vehicle_id"]], crews) for vehicle in vehicles
    )
    places = sorted(routing["destinations"], key=_place_order)
    return DayView(
        decisions=tuple(_shown(one, letters) for one in decisions),
        vehicles=shown,
        waiting=tuple(waiting_of(routing, by_load)),
        places=tuple(p for p in places if p["loads"] or p["destination_kind"] != "bed"),
        unused_places=tuple(p for p in places if not p["loads"] and p["destination_kind"] == "bed"),
        lots=lots,
        letters=letters,
    )


def _vehicle(look: DayLook, told: Members, letter: str, crews: Mapping[str, Crew]) -> VehicleView:
    """Return a vehicle's day, and whether it is late; nobody is on a day that is over."""
    ahead = tuple(stop for stop in told["stops"] if not stop["done"])
    at = [] if look.is_past else [datetime.fromisoformat(stop["at"]) for stop in ahead]
    shift_ends = datetime.combine(look.day, look.depot.shift_ends, look.now.tzinfo)
    return VehicleView(
        letter=letter,
        told=told,
        crews=", ".join(crews[key].name for key in told["crew_ids"] if key in crews),
        done=tuple(stop for stop in told["stops"] if stop["done"]),
        ahead=ahead,
        overdue=sum(due < look.now for due in at),
        ends_late=any(due > shift_ends for due in at[-1:]),
    )


def letter_of(number: int) -> str:
    """Return A, B, ... Z, AA, AB, ... of 0, 1, ..."""
    before, last = divmod(number, len(LETTERS))
    return (letter_of(before - 1) if before else "") + LETTERS[last]


def _place_order(place: Members) -> tuple[bool, str, str]:
    return place["destination_kind"] == "bed", place["destination_kind"], place["name"]


def _shown(decision: Decision, letters: Mapping[str, str]) -> Shown:
    """Return a decision as it is shown: in plain words, with the way to where it stands."""
    letter = letters.get(str(decision.vehicle_id))
    codes = ", ".join(decision.lot_codes)
    word = WORDS.get(decision.code, decision.code.replace("_", " ").capitalize())
    anchor = None if letter is None else f"vehicle-{letter}"
    each = decision.each or (decision,)
    asked = {one.lot_codes[0]: str(one.job_id) for one in each} if decision.code in ASKED else {}
    undecided = {} if decision.code in TAKEN_BACK else asked
    suppose = None
    if undecided:
        letter = anchor = None
    elif decision.code == "held_with_worse":
        suppose = f"about={decision.job_id}"
    elif decision.hold_entry_id is not None:
        word = f"{word}, {named(decision.lot_codes, most=1)}"
        anchor = f"held-{decision.hold_entry_id}"
    elif decision.job_id is not None and codes:
        word, anchor = f"Lot {codes}", f"lot-{decision.lot_codes[0]}"
    return Shown(
        word=word,
        sentence=decision.sentence,
        subject=MARK.join(unsaid(decision.subject, decision.sentence)),
        caution=decision.caution,
        grave=decision.urgency is Urgency.NOW,
        anchor=anchor,
        vehicle=letter,
        undecided=undecided,
        said_of=asked if decision.code in TAKEN_BACK else {},
        suppose=suppose,
    )

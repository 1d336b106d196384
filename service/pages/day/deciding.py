"""What waits for the dispatcher, as it is shown: in a few lines, with what can be done at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from service.core.places import DestinationKind
from service.pages.day.amounts import Amounts
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.decisions.decision import Decision, Urgency, size_is_so
from service.usecases.telling.decisions.tipped.said import TAKEN_BACK
from service.usecases.telling.warnings.subjects import MARK, named, unsaid

WORDS: Final = {
    "unplaced": "No place",
    "held_amber": "In the bay",
    "held_red": "In the bay",
    "held_hot": "Hot in the bay",
    "held_stays": "Stays in the bay",
    "do_not_tip": "Do not tip there",
    "do_not_tip_all": "Do not tip all there",
    "aboard_overnight": "Aboard overnight",
    "going_sour": "Going sour",
    "gone_sour": "Sour",
    "long_under_way": "Not heard of",
    "at_gate": "At the gate",
    "lock_not_kept": "Lock not kept",
    "held_with_worse": "Mixed with worse",
    "site_shuts_first": "Shuts first",
    "site_word_old": "Ask the gate",
    "ground_word_old": "Look at the ground",
    "consent_ends": "Consent ends",
    "consent_ended": "Consent ended",
    "consent_month_reached": "Month's most reached",
    "registration_ends": "Registration ends",
    "registration_ended": "Registration ended",
    "kill_evidence_ends": "Proof ends",
    "kill_evidence_ended": "Proof ended",
    "ticket_awaits_review": "Doubtful weight",
    "ticket_given_before": "Ticket given twice?",
    "was_it_loaded": "Was it loaded?",
    "loaded_hot": "Hot, and aboard",
    "ticket_may_be_in_pounds": "Doubtful weight",
    "vehicle_was_overloaded": "Overloaded",
    "over_limit": "Too much there",
    "tipped_where_refused": "Tipped where refused",
    "bay_over_volume": "Bay too full",
    "possible_duplicate": "Said twice?",
    "planned_not_reported": "Not reported",
    "part_not_mown": "A part not mown",
    "recall_to_call": "Recall",
    "said_where_brought": "Seen in it",
    "tip_not_kept": "Tip not kept",
    "cut_before_tip": "In that tip?",
    "lot_too_large": "Too large to be so?",
    "measured_far_off": "Measured so?",
    "leaves_not_estimated": "Leaves in it",
    "treatment_not_known": "Product not known",
    "lay_in_one_body": "Mixed",
    "vehicle_out": "Vehicle out",
    "vehicle_still_out": "Is it back?",
    "load_stands": "A load stands",
    "nobody_takes_over": "Nobody takes over",
    "long_after_shift": "Long after the shift",
    "turned_away": "Sent away",
    "refused_later": "Refused later",
    "vehicle_may_overflow": "May be too heavy",
    "destination_may_overflow": "May not hold it all",
}

NOT_REPORTED: Final = "planned_not_reported"
CUT_BEFORE_TIP: Final = "cut_before_tip"
# Of these it is said on the screen, lot by lot, what is so.
ASKED: Final = frozenset({"possible_duplicate", *TAKEN_BACK})
# Of these what there is to say is kept with the record of the bed or the site.
ON_RECORD: Final = ("consent_", "registration_", "kill_evidence_")
# Of these the gate's form says it.
AT_THE_GATE: Final = frozenset({"site_shuts_first", "site_word_old"})
BOOKS: Final = {DestinationKind.BED: "beds", DestinationKind.COMPOST_SITE: "sites"}
# Where a sentence ends, but for the letter of a name: "A. Khan".
FIRST: Final = re.compile(r"(?<=[.:;])(?<! [A-Z]\.) (?=[A-Z])")
# What is read without opening it: two lines of a telephone. Beyond it a sentence ends with one of
# its clauses; whoever opens it reads all of it.
LONGEST_CLOSED: Final = 80
CLAUSE: Final = re.compile(r"[;:] | \(|, and ")
SAYS_HOW_MUCH: Final = re.compile(r"\d\s(?:kg|t)\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Where a click leads that does something about it; ``of`` tells it from others like it."""

    what: str
    href: str
    of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Something that waits for a word of the dispatcher, and what is done about it on the screen.

    ``subject``, ``amount_kg`` and ``short`` are read without opening it: of what, how much of it,
    and what is the matter. ``whole`` and the forms are opened; ``opens`` says what is done there.
    ``undecided`` are those, by their lots, of which it is said right here whether each is another
    cut, ``said_of`` those of whose clippings something was said, which may be taken back here,
    ``grounds`` the beds, by their ids, of which it is said how their ground is, ``sizes`` the lots
    of which it is said that they are as large as recorded, ``not_reported`` those of which it is
    said what became of them, ``late`` those that went in a tip or did not: their job, and its load.
    """

    word: str
    short: str
    whole: str = ""
    subject: str = ""
    amount_kg: float | None = None
    opens: str = ""
    until: datetime | None = None
    grave: bool = False
    acts: tuple[Act, ...] = ()
    caution: str | None = None
    undecided: Mapping[str, str] = field(default_factory=dict)
    said_of: Mapping[str, str] = field(default_factory=dict)
    grounds: Mapping[str, str] = field(default_factory=dict)
    sizes: Mapping[str, str] = field(default_factory=dict)
    not_reported: Mapping[str, str] = field(default_factory=dict)
    late: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def shown(decision: Decision, letters: Mapping[str, str], look: DayLook, amounts: Amounts) -> Shown:
    """Return a decision as it is shown: in plain words, with the way to where it stands."""
    each = decision.each or (decision,)
    short = in_passing(decision.sentence)
    by_lot = {one.lot_codes[0]: str(one.job_id) for one in each if one.lot_codes}
    asked = by_lot if decision.code in ASKED else {}
    not_reported = by_lot if decision.code == NOT_REPORTED else {}
    late = _late(each) if decision.code == CUT_BEFORE_TIP else {}
    is_said = decision.code in TAKEN_BACK
    until = decision.deadline and decision.deadline.astimezone(look.now.tzinfo)
    is_of_day = until is not None and until.date() == look.day
    # What is said closed is not said twice, a time neither.
    # All others are named in what is opened.
    subject = next((_one_of(part) for part in unsaid(decision.subject, short)), "")
    is_unsaid = until is not None and f"{until:%H:%M}" not in short
    grounds = _grounds(each) if decision.code == "ground_word_old" else {}
    sizes = {
        one.lot_codes[0]: str(one.job_id)
        for one in each
        if one.job_id is not None and size_is_so(one.job_id) in one.ways
    }
    return Shown(
        word=_word(decision),
        short=short,
        whole=" ".join(filter(None, (_of_whom(decision), decision.sentence))),
        subject=subject,
        amount_kg=None if SAYS_HOW_MUCH.search(short) else amounts.of_kg(each),
        opens=_opens(grounds=grounds, asked=asked or not_reported or late, sizes=sizes),
        until=until if is_of_day and is_unsaid else None,
        grave=decision.urgency is Urgency.NOW,
        acts=tuple(
            {
                act.href: replace(act, of=subject or short)
                for act in _acts(decision, each, letters, look)
            }.values()
        ),
        caution=decision.caution,
        undecided={} if is_said else asked,
        said_of=asked if is_said else {},
        grounds=grounds,
        sizes=sizes,
        not_reported=not_reported,
        late=late,
    )


def in_passing(sentence: str) -> str:
    """Return what is said first, to the end of a clause where that is longer than two lines."""
    first = FIRST.sub("\0", sentence, count=1).partition("\0")[0]
    if len(first) <= LONGEST_CLOSED:
        return first
    cuts = (first[: found.start()] for found in CLAUSE.finditer(first, 0, LONGEST_CLOSED))
    whole = [cut for cut in cuts if cut.count("(") == cut.count(")")]
    return f"{whole[-1]}." if whole else first


def _one_of(part: str) -> str:
    """Return the first of some names, and how many more there are."""
    names = part.replace(" and ", ", ").split(", ")
    more = sum(int(name.split()[0]) if name.endswith(" more") else 1 for name in names[1:])
    return f"{names[0]} and {more} more" if more else names[0]


def _of_whom(decision: Decision) -> str:
    """Return all that a decision is about, for whoever opens it; nothing its sentence says."""
    left = MARK.join(unsaid(decision.subject, decision.sentence))
    return f"{left}." if left else ""


def _opens(
    *, grounds: Mapping[str, str], asked: Mapping[str, object], sizes: Mapping[str, str]
) -> str:
    """Return what is answered right here, once it is opened."""
    if grounds:
        return "Say how it is there"
    return "Say which it is" if asked or sizes else ""


def _word(decision: Decision) -> str:
    word = WORDS.get(decision.code, decision.code.replace("_", " ").capitalize())
    if decision.each:
        return f"{word} ({decision.count}{' heaps' if _is_of_heaps(decision) else ''})"
    is_of_lot = decision.job_id is not None and decision.code not in WORDS
    return f"Lot {', '.join(decision.lot_codes)}" if is_of_lot and decision.lot_codes else word


def _is_of_heaps(decision: Decision) -> bool:
    return all(one.hold_entry_id is not None for one in decision.each or (decision,))


def _grounds(each: tuple[Decision, ...]) -> dict[str, str]:
    return {str(one.destination_id): one.ways[0].what for one in each}


def _late(each: tuple[Decision, ...]) -> dict[str, tuple[str, str]]:
    return {one.lot_codes[0]: (str(one.job_id), str(one.load_id)) for one in each}


def _acts(
    decision: Decision, each: tuple[Decision, ...], letters: Mapping[str, str], look: DayLook
) -> Iterator[Act]:
    """Yield where it is answered, or stands: nothing where that is right here."""
    if decision.code in {"possible_duplicate", "ground_word_old", NOT_REPORTED, CUT_BEFORE_TIP}:
        return
    if decision.code == "held_with_worse":
        about = f"depot={look.depot.id}&day={look.day}&about={decision.job_id}"
        yield Act(what="See what it would change", href=f"/screens/day/suppose?{about}")
        return
    if decision.code == "recall_to_call":
        # Its ways are those of one recall; a call is ticked off on its page.
        recall_id = decision.ways[0].href.split("/")[2]
        yield Act(what="What to say, and tick it off", href=f"/screens/recalls/{recall_id}")
        return
    if decision.code in AT_THE_GATE:
        yield Act(what="Say what the gate says", href=f"#site-{decision.destination_id}")
        return
    for one in each:
        book = None if one.destination_kind is None else BOOKS.get(one.destination_kind)
        letter = letters.get(str(one.vehicle_id))
        if decision.code.startswith(ON_RECORD) and book:
            href = f"/screens/setup/{book}/records/{one.destination_id}"
            what = "Its record" if one is decision else one.ways[0].what.split(" of ", 1)[-1]
            yield Act(what=what, href=href)
        elif one.hold_entry_id is not None:
            heap = _one_of(one.subject[0]) if one.subject else named(one.lot_codes, most=1)
            what = "Say what becomes of it" if one is decision else heap
            yield Act(what=what, href=f"#held-{one.hold_entry_id}")
        elif letter is not None:
            yield Act(what=f"See vehicle {letter}", href=f"#vehicle-{letter}")
        elif one.job_id is not None and one.lot_codes:
            yield Act(what="See the lot", href=f"#lot-{one.lot_codes[0]}")

"""What a client answers to a note, in words: the form, what is wrong in it, what follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from enum import StrEnum

from service.core.measures.quantities import two_readings
from service.documents.composition.content import NoteContent
from service.documents.facts.note import Acknowledged
from service.documents.facts.values import Quantity, Unit
from service.documents.rendering.formats import DisplayUnits, number_text, show
from service.documents.rendering.language import Language
from service.documents.rendering.plain_text import plain

# What a scale at a client's would show: a unit of the language files, and its UCUM code.
MASS_UNITS = {DisplayUnits.METRIC: ("kg", "kg"), DisplayUnits.US: ("lb", "[lb_av]")}


class FormFault(StrEnum):
    """What is wrong with a form that was sent, or with one of its fields."""

    NOT_KEPT = "not_kept"
    ANSWERED_BEFORE = "answered_before"
    NOT_BROUGHT_YET = "not_brought_yet"
    CALLED_OFF = "called_off"
    NEWER = "newer"
    ANSWER = "answer"
    NAME = "name"
    HOW_MUCH = "how_much"
    ONE_OF_BOTH = "one_of_both"
    ONLY_PART = "only_part"
    NOT_AN_AMOUNT = "not_an_amount"
    TWO_READINGS = "two_readings"
    WHOLE_LOAD = "whole_load"
    NOT_USABLE = "not_usable"


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledgement:
    """An answer that was given, to be shown in place of the form.

    Parameters
    ----------
    answer
        What was answered.
    at
        When, with its zone, as it is to be shown.
    signed_by
        Name as written; empty if nobody was there.
    accepted, remark
        As written; empty if nothing was.
    reason
        One of `REFUSAL_REASONS` or a reason in own words, for a load that was refused.
    """

    answer: Acknowledged
    at: datetime
    signed_by: str = ""
    accepted: str = ""
    reason: str | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unkept:
    """A form that was sent and not kept.

    Parameters
    ----------
    typed
        What stood in each field, by its name.
    faults
        What is wrong, by the name of the field, in the order of the page.
    notice
        What is wrong with the whole of it.
    """

    typed: Mapping[str, str] = field(default_factory=dict)
    faults: Mapping[str, FormFault] = field(default_factory=dict)
    notice: FormFault | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedForm:
    """The form in words, with what was typed in it before."""

    amount: str
    of_load: str
    unit: str
    typed: Mapping[str, str]
    faults: Mapping[str, str]
    first_fault: str
    notice: str


def form_in_words(
    content: NoteContent, unkept: Unkept, *, words: Language, units: DisplayUnits
) -> WordedForm:
    """Return the form in words; a reader is asked for a mass in the unit he reads."""
    facts = content.facts
    name, unit = MASS_UNITS[units]
    amount = facts.amount
    mass = (
        amount.estimate_kg
        if amount.weighed is None
        else Quantity(value=amount.weighed.net_kg, unit=Unit.KILOGRAM)
    )
    # A note says the one or the other.
    load = "" if mass is None else show(mass, language=words, units=units)
    typed = unkept.typed.get("accepted_amount", "").strip()
    whole, fraction = two_readings(typed) or (0.0, 0.0)
    gaps = {
        "typed": plain(typed),
        "whole": f"{whole:.0f}",
        # Nobody says a mass to a thousandth, and three digits would be asked back again.
        "fraction": number_text(Decimal(f"{fraction:.2f}"), words),
        "firm": plain(facts.sender.name),
        "phone": plain(facts.sender.phone),
        "part": words.sentences["acknowledged.part_accepted"],
    }

    def said(fault: FormFault) -> str:
        return words.sentence(f"fault.{fault}", **gaps)

    return WordedForm(
        amount=words.sentence("asked.amount", unit=words.sentence(f"unit.{name}", n="").strip()),
        of_load=words.sentence("asked.of_load", mass=load),
        unit=unit,
        typed=unkept.typed,
        faults={where: said(fault) for where, fault in unkept.faults.items()},
        first_fault=next(iter(unkept.faults), ""),
        notice="" if unkept.notice is None else said(unkept.notice),
    )


def answer_in_words(
    found: Acknowledgement | None, *, words: Language, units: DisplayUnits
) -> tuple[str, ...]:
    """Return the answer already given, the sentence on it first; nothing if there is none."""
    if found is None:
        return ()
    at = show(found.at, language=words, units=units)
    answer = words.sentences[f"acknowledged.{found.answer}"]
    name = plain(found.signed_by)
    first = (
        words.sentence("form.answered_by", answer=answer, name=name, at=at)
        if name
        else words.sentence("form.answered", answer=answer, at=at)
    )
    reason = found.reason or ""
    reason = words.sentences.get(f"reason.{reason}", plain(reason))
    others = (plain(found.accepted), reason, plain(found.remark))
    return (first, *(text for text in others if text))


def what_follows(
    content: NoteContent, found: Acknowledgement | None, *, words: Language
) -> tuple[str, ...]:
    """Return whom an answer reached, what happens now, and last whom to call."""
    if found is None:
        return ()
    firm, phone = plain(content.facts.sender.name), plain(content.facts.sender.phone)
    return (
        words.sentence("after.reached", firm=firm),
        words.sentence(f"after.{found.answer}", firm=firm),
        words.sentence("after.call", firm=firm, phone=phone),
    )

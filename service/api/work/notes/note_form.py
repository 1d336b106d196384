"""What the client answers to a note: as JSON, and as the form of its page sends it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from flask import request
from marshmallow import ValidationError, validates_schema

from service.api.contract.schemas import Described
from service.api.failures.faults import Fault, Place
from service.api.failures.problems import faults_of
from service.api.fields import Choice, Integer, Number, Text
from service.core.errors import Refusal
from service.core.measures.quantities import to_si, two_readings
from service.core.notes import Receipt
from service.documents.rendering.answer_words import FormFault, Unkept
from service.documents.rendering.words import REFUSAL_REASONS
from service.usecases.notes.issue_note import ONE_OF_BOTH

# Groups of three digits: parted by spaces, or by a mark more than once.
_GROUPED: Final = r"[1-9]\d{0,2}(?:(?:\s\d{3})+|(?:,\d{3}){2,}|(?:\.\d{3}){2,})"
_PLAIN: Final = r"\d{1,7}(?:[.,]\d{1,3})?"
_UNITS: Final = {"kg": "kg", "[lb_av]": "lb"}
# The fields of the form in the order of the page, by their names in a body.
_FIELDS: Final = {
    "answer": "answer",
    "accepted_share": "accepted_share",
    "accepted_mass_kg": "accepted_amount",
    "reason": "reason",
    "remark": "remark",
    "signed_by": "signed_by",
}


class NewAcknowledgement(Described):
    """What the person at the place answers; a signature proves arrival, not quality."""

    answer = Choice(Receipt, required=True)
    accepted = Text(
        longest=120, metadata={"description": "How much was taken, in the client's words."}
    )
    accepted_share = Number(
        low=0,
        high=1,
        metadata={
            "description": "Of the load; needed where a part was accepted, 0 and 1 excluded."
        },
    )
    accepted_mass_kg = Number(
        above=0,
        metadata={
            "description": "Instead of a share; of an estimated load, at most the high end of it."
        },
    )
    reason = Choice(REFUSAL_REASONS)
    remark = Text(longest=1000, breaks=True)
    signed_by = Text(longest=120, metadata={"description": "Needed unless nobody was present."})
    version = Integer(low=1, metadata={"description": "The version of the note that was seen."})

    @validates_schema(skip_on_field_errors=False)
    def refuse_nameless(self, data: Mapping[str, Any], **_: Any) -> None:
        """Ask for a name wherever somebody was there."""
        if data.get("answer") not in {None, Receipt.ABSENT} and "signed_by" not in data:
            sentence = "Write the name of whoever answers, unless nobody was present."
            raise ValidationError({"signed_by": [Fault(sentence, code="required")]})

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def ask_how_much(self, data: Mapping[str, Any], sent: Any, **_: Any) -> None:
        """Ask for the part that was accepted, and for none where it was all or nothing."""
        share, is_part = data.get("accepted_share"), data.get("answer") is Receipt.PART
        mass_kg = data.get("accepted_mass_kg")
        named = isinstance(sent, Mapping) and sent.keys() & {"accepted_share", "accepted_mass_kg"}
        if is_part and share is not None and mass_kg is not None:
            fault = Fault(ONE_OF_BOTH, code="one_of_these")
            raise ValidationError({"accepted_share": [fault], "accepted_mass_kg": [fault]})
        sentence = "How much was accepted, of the whole load: above 0 and below 1."
        if is_part and not named:
            raise ValidationError({"accepted_share": [Fault(sentence, code="required")]})
        if is_part and share is not None and not 0.0 < share < 1.0:
            raise ValidationError({"accepted_share": [Fault(sentence, code="out_of_range")]})
        if is_part or "answer" not in data:
            return
        sentence = "Only where a part was accepted it is said how much."
        amiss = {"accepted_share": share, "accepted_mass_kg": mass_kg}
        found = {name: [Fault(sentence)] for name, said in amiss.items() if said is not None}
        if found:
            raise ValidationError(found)


def read_form() -> dict[str, Any]:
    """Return what a form sent; a field left empty was not answered."""
    filled: dict[str, Any] = {name: value for name, value in request.form.items() if value.strip()}
    if str(filled.get("version", "")).isdecimal():
        filled["version"] = int(filled["version"])
    if re.fullmatch(r"0?\.\d{1,6}", str(filled.get("accepted_share", ""))):
        filled["accepted_share"] = float(filled["accepted_share"])
    unit, typed = filled.pop("accepted_unit", None), filled.pop("accepted_amount", None)
    if typed is not None:
        kg = kilograms_of(typed, unit)
        filled["accepted_mass_kg"] = typed if kg is None else kg
        if kg is not None and unit is not None:
            filled["accepted"] = f"{typed.strip()} {_UNITS[unit]}"
    return filled


def unkept(refusal: Refusal) -> Unkept:
    """Return the form as it was typed, with what a refusal says of its fields."""
    typed = {name: value for name, value in request.form.items() if name in _FIELDS.values()}
    codes = {
        fault.where.removeprefix("/"): fault.code for fault in faults_of(refusal, place=Place.BODY)
    }
    faults = {
        shown: _fault(name, codes[name], typed) for name, shown in _FIELDS.items() if name in codes
    }
    notices = {
        "already_acknowledged": FormFault.ANSWERED_BEFORE,
        "note_superseded": FormFault.NEWER,
        "not_brought_yet": FormFault.NOT_BROUGHT_YET,
        "called_off": FormFault.CALLED_OFF,
    }
    notice = notices.get(refusal.code, FormFault.NOT_KEPT)
    return Unkept(typed=typed, faults=faults, notice=notice)


def _fault(name: str, code: str, typed: Mapping[str, str]) -> FormFault:
    """Return what a fault of a field is called on the page."""
    called = {
        ("signed_by", "required"): FormFault.NAME,
        ("accepted_share", "required"): FormFault.HOW_MUCH,
        ("accepted_share", "out_of_range"): FormFault.HOW_MUCH,
        ("accepted_mass_kg", "whole_load"): FormFault.WHOLE_LOAD,
    }
    if name == "answer":
        return FormFault.ANSWER
    if (name, code) in called:
        return called[name, code]
    if code == "one_of_these":
        return FormFault.ONE_OF_BOTH
    if name in {"accepted_share", "accepted_mass_kg"} and typed.get("answer") != Receipt.PART:
        return FormFault.ONLY_PART
    if name != "accepted_mass_kg":
        return FormFault.NOT_USABLE
    both = two_readings(typed.get("accepted_amount", "").strip())
    return FormFault.NOT_AN_AMOUNT if both is None else FormFault.TWO_READINGS


def kilograms_of(typed: str, unit: str | None) -> float | None:
    """Return what somebody wrote in the unit of the page [kg]; None where it is no amount."""
    number = _number(typed)
    return None if number is None or unit not in _UNITS else to_si(number, unit)


def _number(typed: str) -> float | None:
    """Return a number as people write it, with whichever marks; None if it is none, or two."""
    text = typed.strip()
    if two_readings(text) is not None:
        return None
    if re.fullmatch(_GROUPED, text):
        return float(re.sub(r"\D", "", text))
    if re.fullmatch(_PLAIN, text):
        return float(text.replace(",", "."))
    return None

"""What is told at once of a tip: what stands against it, or that there was no room for so much."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from marshmallow import Schema

from service.api.contract.schemas import Answered, Entries
from service.api.exchange.languages import asked_language
from service.api.fields import Choice, Text
from service.api.records.estimates import Members
from service.core.plans import RuleClass
from service.core.reports import TipWarning
from service.usecases.telling.in_language import in_language


class TipWarningAnswer(Answered):
    """One thing that is told at once of a tip."""

    code = Text(
        longest=100,
        metadata={
            "description": "As of a day's warnings: `tipped_where_refused`, `over_limit`, "
            "`ticket_awaits_review`, `ticket_given_before`, `was_it_loaded`; and "
            "of what was loaded `loaded_hot`; of a cut `cut_before_tip`."
        },
    )
    rule_class = Choice(RuleClass)
    sentence = Text(longest=2000, metadata={"description": "In the language that is asked for."})
    facts = Members()


class WithTipWarnings(Answered):
    """What stands against a tip that was just told, corrected or weighed; nothing of any other."""

    warnings = Entries(TipWarningAnswer)


@cache
def told_schema(answer: type[Schema]) -> type[Schema]:
    """Return the schema of a load in an answer that says at once what stands against it."""
    return type(f"Told{answer.__name__}", (WithTipWarnings, answer), {"__module__": __name__})


def told(warnings: Sequence[TipWarning]) -> Any:
    """Return warnings in the language of whoever asks."""
    return in_language(list(warnings), asked_language())

"""What is told beside a job that was kept: that its vehicle is on record as out by then."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.api.contract.schemas import Answered, Entries
from service.api.exchange.door import Asked
from service.api.fields import Text
from service.api.records.book_routes import Beside
from service.api.records.estimates import Members
from service.api.records.resource import Resource
from service.core.jobs import Job
from service.usecases.telling.warnings.out_then import TellOutThen


class JobWarningAnswer(Answered):
    """One thing that is told at once of a job."""

    code = Text(longest=100, metadata={"description": "`vehicle_out`, as of a day's warnings."})
    sentence = Text(longest=2000)
    facts = Members()


class WithJobWarnings(Answered):
    """What is the matter with a job that was just kept; nothing of most."""

    warnings = Entries(JobWarningAnswer)


def out_then(resource: Resource, tell_out_then: TellOutThen) -> Beside:
    """Return what is told beside jobs, and how it is described."""

    def tell(asked: Asked, job: Job) -> Mapping[str, Any]:
        return {"warnings": [*tell_out_then(asked.caller, job)]}

    answer = resource.answer
    schema = type(f"Told{answer.__name__}", (WithJobWarnings, answer), {"__module__": __name__})
    return Beside(schema=schema, example={"warnings": []}, tell=tell)

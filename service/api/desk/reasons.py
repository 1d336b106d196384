"""One link from an estimate or a verdict to its factors and their sources."""

from __future__ import annotations

from typing import Any, Final
from uuid import UUID

from flask import Response

from service.api.desk.shapes import ESTIMATE, FACTOR, RULE, SOURCES, deserved
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import ACCEPT_LANGUAGE, CONTENT_LANGUAGE, worded
from service.api.exchange.routes import Routes
from service.api.work.days.explanation_shape import NAMED, WHAT_WOULD_CHANGE
from service.api.work.days.routing_shape import VERDICT
from service.api.work.shapes import (
    AMOUNT,
    COUNT,
    DAY,
    FLAG,
    ID,
    MAYBE_AMOUNT,
    MAYBE_TEXT,
    MEMBERS,
    MOMENT,
    TEXT,
    map_of,
    maybe,
    one_of,
    several,
    whole,
)
from service.core.callers.access import Act
from service.core.materials import LotStatus
from service.core.plans import RuleClass
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.telling.reasons.estimates import TellWhy
from service.usecases.telling.reasons.verdicts import TellVerdicts

_FINDING: Final = whole({"status": one_of(LotStatus), "code": TEXT, "facts": MEMBERS})
_WAIT: Final = whole(
    {
        "over": FLAG,
        "code": TEXT,
        "sentence": TEXT,
        "rule_class": one_of(RuleClass),
        "facts": MEMBERS,
        "sources": several(TEXT),
    }
)
_TICKET: Final = whole(
    {
        "load_id": ID,
        "weigh_ticket": MAYBE_TEXT,
        "weighed_net_kg": MAYBE_AMOUNT,
        "estimated_kg": AMOUNT,
        "done_at": maybe(MOMENT),
    },
    description=(
        "A ticket that stood as accepted when the job was last estimated; one that was weighed "
        "anew since, and not reviewed again, is told no more."
    ),
)

JOB_WHY: Final = whole(
    {
        "job_id": ID,
        "lot_code": TEXT,
        "day": DAY,
        "jurisdiction": TEXT,
        "rulebook_version": MAYBE_TEXT,
        "rulebook_version_now": TEXT,
        "estimate": maybe(
            whole(
                {
                    "dry_matter_kg": ESTIMATE,
                    "mass_kg": ESTIMATE,
                    "volume_m3": ESTIMATE,
                    "nitrogen_kg": ESTIMATE,
                    "carbon_to_nitrogen": ESTIMATE,
                    "tickets": COUNT,
                    "mass_before_tickets_kg": maybe(ESTIMATE),
                    "untaught": maybe(
                        whole(
                            {
                                "firm_factor_high": MAYBE_AMOUNT,
                                "firm_factor_low": MAYBE_AMOUNT,
                                "sentence": MAYBE_TEXT,
                            }
                        )
                    ),
                }
            )
        ),
        "factors": several(whole({**FACTOR["properties"], "rule": maybe(RULE)})),
        "tickets": several(_TICKET),
        "status": one_of(LotStatus),
        "findings": several(_FINDING),
        "waits": map_of(_WAIT),
        "sources": SOURCES,
    },
    description=(
        "Every number of a job's estimate with what it was worked out from. A factor's rule is "
        "null where it was entered or weighed, or where the rulebook has changed since."
    ),
)

JOB_VERDICTS: Final = whole(
    {
        "job_id": ID,
        "lot_code": TEXT,
        "day": DAY,
        "jurisdiction": TEXT,
        "status": one_of(LotStatus),
        "look_by": MOMENT,
        "keeps_until": MOMENT,
        "mass_kg": whole({"low": AMOUNT, "likely": AMOUNT, "high": AMOUNT}),
        "verdicts": several(whole({**VERDICT["properties"], "refused": FLAG})),
        "rulebook_version": TEXT,
        "sources": SOURCES,
    },
    description=(
        "What every destination says to the job's clippings, by the records as they are now; "
        "what was tipped there today is taken off."
    ),
)

JOB_CHANGES: Final = whole(
    {
        "job_id": ID,
        "lot_code": TEXT,
        "day": DAY,
        "day_plan_id": ID,
        "loads": several(whole({**NAMED, "load_id": ID, "what_would_change": WHAT_WOULD_CHANGE})),
        "unplaced": several(
            whole(
                {
                    "vehicle_id": ID,
                    "mass_high_kg": AMOUNT,
                    "what_would_change": WHAT_WOULD_CHANGE,
                }
            )
        ),
    },
    description=(
        "For every load of a job that is still to come what would change where it goes; and what "
        "would find a place for what its vehicle was told to leave. By the newest routing of the "
        "day, worked out now."
    ),
)


def reason_routes(
    tell_why: TellWhy,
    tell_verdicts: TellVerdicts,
    tell_changes: TellWhatWouldChange,
    door: Door,
) -> Routes:
    """Return the routes that explain a job."""
    routes = Routes("reasons", description="Why a number or a verdict is what it is.")

    @routes.operation(
        "GET",
        "/jobs/<uuid:record_id>/why",
        name="read_why_of_job",
        summary="Read why a job's estimate is what it is: factors, rules, tickets and sources.",
    )
    @door.admits(Act.READ)
    @routes.response(200, JOB_WHY)
    def read_why(asked: Asked, record_id: UUID) -> dict[str, Any]:
        told: dict[str, Any] = tell_why(asked.caller, record_id)
        # A rule is told as it is printed; only what was worked out loses digits.
        told["estimate"] = deserved(told["estimate"])
        told["factors"] = [
            {**deserved(factor), "rule": factor["rule"]} for factor in told["factors"]
        ]
        told["tickets"] = deserved(told["tickets"])
        return told

    @routes.operation(
        "GET",
        "/jobs/<uuid:record_id>/verdicts",
        name="read_verdicts_on_job",
        summary="Read what every destination says to a job's clippings, with the sources.",
        in_path=[ACCEPT_LANGUAGE],
    )
    @door.admits(Act.READ)
    @routes.response(200, JOB_VERDICTS, headers=CONTENT_LANGUAGE)
    def read_verdicts(asked: Asked, record_id: UUID) -> Response:
        return worded(tell_verdicts(asked.caller, record_id))

    @routes.operation(
        "GET",
        "/jobs/<uuid:record_id>/what-would-change",
        name="read_what_would_change_for_job",
        summary="Read what would change where a job's clippings go, solved for now.",
        may_answer=(409,),
    )
    @door.admits(Act.READ)
    @routes.response(200, JOB_CHANGES)
    def read_changes(asked: Asked, record_id: UUID) -> dict[str, object]:
        return tell_changes.of_job(asked.caller, record_id)

    return routes

"""The rulebook over HTTP: every rule with its dated values, every source in full."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from flask import Response, jsonify, request

from service.api.contract.schemas import Described
from service.api.desk.shapes import ESTIMATE, RULE, SOURCE, SOURCES
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Day, Several, Text
from service.api.fields.words import Jurisdiction
from service.api.work.shapes import (
    COUNT,
    DAY,
    FLAG,
    MAYBE_DAY,
    MAYBE_TEXT,
    TEXT,
    one_of,
    several,
    whole,
)
from service.core.callers.access import Act
from service.rules.lookup import Kind, Standing
from service.usecases.compute import mixes
from service.usecases.compute.desk import RulebookDesk
from service.usecases.compute.waits import DESTINATIONS

_NAMED: Final[Mapping[str, Any]] = {
    "in": "path",
    "required": True,
    "schema": {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,100}$"},
}
RULE_NAME: Final = {**_NAMED, "name": "name", "example": "clipping_moisture"}
SOURCE_KEY: Final = {**_NAMED, "name": "key", "example": "common-practice"}

RULES: Final = whole({"rulebook_version": TEXT, "items": several(RULE)})
ONE_RULE: Final = whole(
    {"name": TEXT, "by": several(TEXT), "rows": several(RULE), "sources": SOURCES}
)
ALL_SOURCES: Final = whole({"rulebook_version": TEXT, "items": SOURCES})
ONE_SOURCE: Final = whole({"key": TEXT, **SOURCE["properties"], "rules": several(TEXT)})
MATERIALS: Final = whole(
    {
        "rulebook_version": TEXT,
        "items": several(
            whole(
                {
                    "name": TEXT,
                    "role": one_of(("green", "brown")),
                    "nitrogen_fraction": ESTIMATE,
                    "carbon_to_nitrogen": ESTIMATE,
                    "moisture": ESTIMATE,
                    "bulk_density_kg_per_m3": ESTIMATE,
                    "note": MAYBE_TEXT,
                }
            )
        ),
        "sources": SOURCES,
    }
)
_WAIT: Final = whole(
    {
        "destination": one_of(DESTINATIONS),
        "days": COUNT,
        "mowings": COUNT,
        "composting_days": COUNT,
        "never": FLAG,
        "kind": TEXT,
        "standing": TEXT,
        "scope": TEXT,
        "where": TEXT,
        "jurisdiction": MAYBE_TEXT,
        "since": DAY,
        "until": MAYBE_DAY,
        "sources": several(TEXT),
    }
)
SUBSTANCES: Final = whole(
    {
        "rulebook_version": TEXT,
        "day": DAY,
        "jurisdiction": MAYBE_TEXT,
        "items": several(
            whole(
                {
                    "name": TEXT,
                    "cas": TEXT,
                    "cas_source": MAYBE_TEXT,
                    "group": TEXT,
                    "also_called": several(TEXT),
                    "waits": several(_WAIT),
                }
            )
        ),
        "sources": SOURCES,
    },
    description="What is not here is unknown. The product's own label comes before this table.",
)


class RulesQuery(Described):
    """Which rules."""

    name = Several(Text(longest=100), most=20)
    kind = Several(Choice(Kind), most=20)
    standing = Several(Choice(Standing), most=20)


class SubstancesQuery(Described):
    """Whose waits, and when."""

    day = Day(metadata={"description": "The day whose rules count; today (UTC) if left out."})
    jurisdiction = Jurisdiction()


def rule_routes(desk: RulebookDesk, door: Door) -> Routes:
    """Return the routes of rules and sources."""
    routes = Routes(
        "rules",
        description="The rulebook: dated, sourced values, with who says so and where it holds.",
    )

    @routes.operation("GET", "/rules", name="read_rules", summary="Read the rules, old rows too.")
    @door.admits(Act.ASK)
    @routes.query(RulesQuery)
    @routes.response(200, RULES)
    def read_rules(_: Asked, query: Mapping[str, Any]) -> Response:
        rows = desk.rules(
            names=query.get("name", ()),
            kinds=query.get("kind", ()),
            standings=query.get("standing", ()),
        )
        return _of_version(desk, {"rulebook_version": desk.version, "items": rows})

    @routes.operation(
        "GET",
        "/rules/<name>",
        name="read_rule",
        summary="Read one rule with every row it ever had.",
        in_path=[RULE_NAME],
    )
    @door.admits(Act.ASK)
    @routes.response(200, ONE_RULE)
    def read_rule(_: Asked, name: str) -> Response:
        return _of_version(desk, desk.rule(name))

    @routes.operation("GET", "/sources", name="read_sources", summary="Read every source in full.")
    @door.admits(Act.ASK)
    @routes.response(200, ALL_SOURCES)
    def read_sources(_: Asked) -> Response:
        told = {"rulebook_version": desk.version, "items": desk.sources()}
        return _of_version(desk, told)

    @routes.operation(
        "GET",
        "/sources/<key>",
        name="read_source",
        summary="Read one source in full, and which rules rest on it.",
        in_path=[SOURCE_KEY],
    )
    @door.admits(Act.ASK)
    @routes.response(200, ONE_SOURCE)
    def read_source(_: Asked, key: str) -> Response:
        return _of_version(desk, desk.source(key))

    _add_tables(routes, desk, door)
    return routes


def _add_tables(routes: Routes, desk: RulebookDesk, door: Door) -> None:
    @routes.operation(
        "GET",
        "/materials",
        name="read_materials",
        summary="Read what compost materials are made of, each value with its range and sources.",
    )
    @door.admits(Act.ASK)
    @routes.response(200, MATERIALS)
    def read_materials(_: Asked) -> Response:
        answer: Mapping[str, Any] = desk.compute(mixes.materials, {})
        told = {
            "rulebook_version": desk.version,
            "items": answer["result"]["materials"],
            "sources": answer["why"]["sources"],
        }
        return _of_version(desk, told)

    @routes.operation(
        "GET",
        "/treatment-substances",
        name="read_treatment_substances",
        summary="Read the active ingredients that are known, and their waits.",
    )
    @door.admits(Act.ASK)
    @routes.query(SubstancesQuery)
    @routes.response(200, SUBSTANCES)
    def read_substances(_: Asked, query: Mapping[str, Any]) -> dict[str, object]:
        return desk.substances(**query)


def _of_version(desk: RulebookDesk, told: Mapping[str, Any]) -> Response:
    """Return what the rulebook says; 304 if the caller has this version of it already."""
    response = jsonify(told)
    response.set_etag(desk.version, weak=True)
    response.make_conditional(request)
    return response

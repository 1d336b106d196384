"""Computations over HTTP: no record is read or kept, and every answer carries its why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from marshmallow import Schema

from service.api.contract.schemas import Answered
from service.api.desk.catalogue import COMPUTATIONS, Asking
from service.api.desk.shapes import WHY, deserved
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.json_form import plain
from service.api.exchange.routes import Routes
from service.api.fields import Shaped
from service.core.callers.access import Act
from service.usecases.compute.desk import RulebookDesk

EXAMPLE_VERSION: Final = "0123456789abcdef"
_NOT_ARGUMENTS = ("day", "jurisdiction")


def computation_routes(desk: RulebookDesk, door: Door) -> Routes:
    """Return the route of every computation."""
    routes = Routes(
        "computations",
        description=(
            "Computations without records: what the clippings of a mowing are, what they do to a "
            "bed, a heap and a vehicle, and what is to be waited for. Nothing is kept. Where "
            "sprays, heat or weight can hurt, the label, the local code and licensed practice "
            "come first."
        ),
    )
    for asking in COMPUTATIONS:
        _add(routes, asking, desk, door)
    return routes


def answered(asking: Asking, question: Mapping[str, Any], desk: RulebookDesk) -> dict[str, Any]:
    """Return a computation's answer, its numbers with the digits they deserve."""
    values = {name: value for name, value in question.items() if name not in _NOT_ARGUMENTS}
    answer = desk.compute(
        asking.question.computation,
        values,
        day=question.get("day"),
        jurisdiction=question.get("jurisdiction"),
    )
    return {**answer, "result": deserved(answer["result"])}


def answer_of(asking: Asking) -> type[Schema]:
    """Return the schema of a computation's answer."""
    return type(
        f"{asking.title}ComputationAnswer",
        (Answered,),
        {
            "__module__": __name__,
            "result": Shaped(asking.result, component=f"{asking.title}Result"),
            "why": Shaped(WHY, component="Why"),
        },
    )


def _add(routes: Routes, asking: Asking, desk: RulebookDesk, door: Door) -> None:
    # The same question, asked of whoever knows what is wrong with its arguments together.
    question = type(
        asking.question.__name__,
        (asking.question,),
        {"__module__": asking.question.__module__, "desk": desk},
    )

    @routes.operation(
        "POST",
        f"/computations/{asking.path}",
        name=f"compute_{asking.path.replace('-', '_')}",
        summary=asking.summary,
    )
    @door.admits(Act.ASK)
    @routes.body(question, example=asking.example)
    @routes.response(200, answer_of(asking), example=Example(lambda: _example(asking, desk)))
    def compute(_: Asked, values: Mapping[str, Any]) -> dict[str, Any]:
        return answered(asking, values, desk)


# Worked out once a rulebook and process, not once an app: a layer takes a fifth of a second.
_EXAMPLES: dict[tuple[str, str], dict[str, Any]] = {}


def _example(asking: Asking, desk: RulebookDesk) -> dict[str, Any]:
    """Return what the service answers to the example, so that neither can go out of date.

    Of the why there is one rule, with the sources whose address is a safe one; the whole would
    be most of the contract.
    """
    key = (asking.path, desk.version)
    if key not in _EXAMPLES:
        answer = plain(answered(asking, asking.question().load(asking.example), desk))
        rules = answer["why"]["rules"][:1]
        keys = {source for rule in rules for source in rule["sources"]}
        sources = {
            key: said
            for key, said in answer["why"]["sources"].items()
            if key in keys and not said["address"].startswith("http:")
        }
        shown = {"rules": rules, "sources": sources, "rulebook_version": EXAMPLE_VERSION}
        _EXAMPLES[key] = {**answer, "why": {**answer["why"], **shown}}
    return _EXAMPLES[key]

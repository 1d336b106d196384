"""Why a place takes nothing: a code, a sentence with the numbers in it, and whose rule it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from service.core.plans import Ground, RuleClass
from service.rules.lookup import Kind, Law, Ruled, RuleValue

CLASSES: Final = {
    Kind.LAW: RuleClass.LAW,
    Kind.LABEL: RuleClass.LABEL,
    Kind.SITE: RuleClass.SITE,
    Kind.CLIENT: RuleClass.CLIENT,
    Kind.ADVICE: RuleClass.ADVICE,
    Kind.MEASURED: RuleClass.ADVICE,
}
CUSTOM: Final = ("common-practice",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """A refusal in the making: the same for every lot, or for one."""

    code: str
    sentence: str
    rule_class: RuleClass
    ground: Ground
    facts: Mapping[str, object] = field(default_factory=dict)
    sources: tuple[str, ...] = ()


def refusal(
    said_by: RuleClass | Ruled,
    code: str,
    sentence: str,
    /,
    *,
    ground: Ground = Ground.PLACE,
    sources: tuple[str, ...] | None = None,
    **facts: object,
) -> Reason:
    """Return a refusal by a rule, as it stands here, or by whoever has a say.

    Sources that are not named are the rule's. Advice rests on custom; a client or a site needs
    none for its own word.
    """
    if sources is None:
        custom = CUSTOM if said_by is RuleClass.ADVICE else ()
        sources = said_by.row.sources if isinstance(said_by, Ruled) else custom
    return Reason(
        code=code,
        sentence=sentence,
        rule_class=class_here(said_by) if isinstance(said_by, Ruled) else said_by,
        ground=ground,
        facts=facts,
        sources=sources,
    )


def class_of(rule: RuleValue) -> RuleClass:
    """Return the class a rule's refusal belongs to."""
    return CLASSES[rule.kind]


def class_here(ruled: Ruled) -> RuleClass:
    """Return whose rule it is on this ground: law only where it binds."""
    if ruled.law is Law.BINDS:
        return RuleClass.LAW
    found = class_of(ruled.row)
    return RuleClass.ADVICE if found is RuleClass.LAW else found

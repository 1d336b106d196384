"""What people say of a load: on its way, tipped, weighed, a part taken, sent away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.core.loads import Load, LoadState
from service.documents.rendering.reader import Reader
from service.pages.forms import Form
from service.pages.scales import POUND, SHORT_TON
from service.usecases.telling.in_language import ENGLISH

LOAD_ACTS: Final = ("planned", "under_way", "delivered", "partly_refused", "refused", "weighed")
HEAVIEST_KG: Final = 50_000
# The least and the most that is written of a weight, by unit; in whole or round numbers.
WEIGHTS: Final = {"kg": (1, HEAVIEST_KG), POUND: (2, 110_000), SHORT_TON: (0.001, 55)}
TICKET: Final = ("weighed_net", "weigh_ticket")
# Offered, not enforced: the field takes any words. They are kept as the office reads them.
REASONS: Final[Mapping[str, str]] = Reader(ENGLISH).table("load_reason")


def reason_as_kept(reader: Reader, said: str | None) -> str | None:
    """Return a reason as the office reads it, where it is one of those that are offered."""
    offered = {words: name for name, words in reader.table("load_reason").items()}
    return REASONS[offered[said]] if said in offered else said


def reason_to(reader: Reader, kept: str | None) -> str | None:
    """Return a kept reason in its reader's words, where it is one of those that are offered."""
    offered = {words: name for name, words in REASONS.items()}
    return reader.table("load_reason")[offered[kept]] if kept in offered else kept


def is_weighed(form: Form) -> bool:
    """Return whether a form has a weight, in whatever unit."""
    return form.flag("weighed_kg") or form.flag("weighed_net")


def ticket_added(load: Load, changes: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return what changes that are on record already add: a ticket, where a load has none.

    None if they say otherwise than the record.
    """
    said = {name: one for name, one in changes.items() if name not in {*TICKET, "done_at"}}
    if any(getattr(load, name) != one for name, one in said.items()):
        return None
    ticket = {name: changes[name] for name in TICKET if name in changes}
    is_other = any(getattr(load, name) != one for name, one in ticket.items())
    return None if is_other and load.weighed_net is not None else ticket


def load_changes(form: Form, act: str) -> dict[str, Any]:
    """Return the changes of a load that a form asks for; faults stay with the form."""
    if act == "weighed":
        # A page in another unit than kilograms asks for it beside the number.
        unit = form.choice("weighed_unit", tuple(WEIGHTS), required=False)
        low, high = WEIGHTS[unit or "kg"]
        field = "weighed_net" if unit else "weighed_kg"
        return {
            "weighed_net": form.measure(field, unit=unit or "kg", low=low, high=high),
            "weigh_ticket": form.text("weigh_ticket", required=True, longest=100),
        }
    changes: dict[str, Any] = {"state": LoadState(act)}
    done_at = form.moment("at")
    if done_at is not None and act not in {"planned", "under_way"}:
        changes["done_at"] = done_at
    if act in {"partly_refused", "refused"}:
        changes["refusal_reason"] = form.text("refusal_reason", required=True)
    if act == "partly_refused":
        # Who weighs what stayed need not guess how much of it that is.
        percent = form.number("refused_percent", low=1, high=99, required=not is_weighed(form))
        if percent is not None:
            changes["refused_share"] = percent / 100
    return changes

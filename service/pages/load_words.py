"""What people say of a load: on its way, tipped, weighed, a part taken, sent away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.core.loads import LoadState
from service.documents.rendering.reader import Reader
from service.pages.forms import Form
from service.usecases.telling.in_language import ENGLISH

LOAD_ACTS: Final = ("planned", "under_way", "delivered", "partly_refused", "refused", "weighed")
HEAVIEST_KG: Final = 50_000
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


def load_changes(form: Form, act: str) -> dict[str, Any]:
    """Return the changes of a load that a form asks for; faults stay with the form."""
    if act == "weighed":
        return {
            "weighed_net": form.measure("weighed_kg", unit="kg", low=1, high=HEAVIEST_KG),
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
        is_weighed = form.flag("weighed_kg")
        percent = form.number("refused_percent", low=1, high=99, required=not is_weighed)
        if percent is not None:
            changes["refused_share"] = percent / 100
    return changes

"""Planning a day with what was just said of it."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import Refusal
from service.pages.needs import Needs
from service.usecases.planning.current_routing import WAITS_S


def replanned(needs: Needs, caller: Caller, depot_id: UUID, day: date) -> None:
    """Plan a day with what was just said; what was said is kept, whatever comes of that."""
    try:
        needs.read_routing(caller, depot_id, day, wait_s=WAITS_S)
    except Refusal:
        # The screen says that the plan is behind, and how to try again.
        return

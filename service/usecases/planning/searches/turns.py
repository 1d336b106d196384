"""Whose search is next: every firm in its turn, and within a firm whoever asked first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import chain, zip_longest
from uuid import UUID

from service.core.searches import Search


def in_turn(waiting: Sequence[Search], served: Mapping[UUID, datetime]) -> list[Search]:
    """Return the searches in the order in which they are taken, if nobody asks meanwhile.

    One of each firm, then the next of each: ten of one firm keep another's only search waiting for
    one. The firm goes first that was served longest ago, or never.

    Parameters
    ----------
    served
        When a search of each firm was taken last.
    """
    by_firm: dict[UUID, list[Search]] = defaultdict(list)
    for search in sorted(waiting, key=lambda one: (one.asked_at, one.id)):
        by_firm[search.firm_id].append(search)
    never = [firm for firm in by_firm if firm not in served]
    since = sorted((firm for firm in by_firm if firm in served), key=lambda firm: served[firm])
    rounds = zip_longest(*(by_firm[firm] for firm in (*never, *since)))
    return [search for search in chain.from_iterable(rounds) if search is not None]

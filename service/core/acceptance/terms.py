"""What a site asks for and takes, and from which day on: a tip is of the terms of its day."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Final, Self
from zoneinfo import ZoneInfo

from service.core.acceptance.fees import Fee
from service.core.acceptance.hours import OpeningHours
from service.core.materials import LotStatus
from service.core.records import FedPlace

# What changes on a day that is told, and not for tips of days before it.
TERMS: Final = ("fee", "accepted_statuses", "takes_sour", "hours")


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteTerms:
    """Terms that were replaced since; ``holds_from`` None: nobody said from when they held."""

    holds_from: date | None = None
    fee: Fee
    accepted_statuses: tuple[LotStatus, ...]
    takes_sour: bool | None = None
    hours: tuple[OpeningHours, ...] = ()

    def had_begun(self, day: date) -> bool:
        """Return whether they held on a day, unless others had taken their place by then."""
        return self.holds_from is None or self.holds_from <= day


def held_on(terms: Iterable[SiteTerms], day: date) -> SiteTerms | None:
    """Return the terms of a day, of those that are given the oldest first; None: none held yet."""
    return next((one for one in reversed([*terms]) if one.had_begun(day)), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class WithTerms(FedPlace):
    """A place with terms.

    Attributes
    ----------
    terms_from
        The day from which fee, hours and what it takes hold as they are on record.
    terms_before
        What they were on days before, the oldest first.
    """

    time_zone: str
    accepted_statuses: tuple[LotStatus, ...] = (LotStatus.CLEAN,)
    hours: tuple[OpeningHours, ...] = ()
    fee: Fee
    takes_sour: bool | None = None
    terms_from: date | None = None
    terms_before: tuple[SiteTerms, ...] = ()

    def as_on(self, day: date) -> Self:
        """Return it with the terms of a day; with the oldest on record of a day before them."""
        if self.terms_from is None or self.terms_from <= day:
            return self
        held = held_on(self.terms_before, day)
        return self if held is None else replace(self, **{n: getattr(held, n) for n in TERMS})

    def following(self, before: Self, said: Collection[str]) -> Self:
        """Return it with the terms that it had before, if they are others now.

        Terms that come without a day hold from the day on which they were recorded.
        """
        is_other = any(getattr(self, name) != getattr(before, name) for name in TERMS)
        if is_other and "terms_from" not in said:
            today = self.updated_at.astimezone(ZoneInfo(self.time_zone)).date()
            return replace(self, terms_from=today).following(before, {"terms_from"})
        starts, known = self.terms_from, before.terms_before
        if is_other:
            was = {name: getattr(before, name) for name in TERMS}
            known = (*known, SiteTerms(holds_from=before.terms_from, **was))
        if starts is None:
            return replace(self, terms_before=())
        return replace(
            self,
            terms_before=tuple(
                one for one in known if one.holds_from is None or one.holds_from < starts
            ),
        )

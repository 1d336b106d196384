"""What the law of a place says of grass and landfills, where nobody else takes it."""

from __future__ import annotations

from typing import Final

from service.rules.here import RulesHere
from service.rules.lookup import Law, LawFacts
from service.rules.rows import Standing

FIRM: Final = "firm"


def landfill_words(here: RulesHere) -> str:
    """Return whether a landfill may take grass here, as law or as not known, and whom to ask."""
    facts = LawFacts(jurisdiction=here.jurisdiction, carrier=FIRM)
    ruled = here.ruled("grass_kept_from_landfill", facts)
    if ruled.law is not Law.BINDS:
        return (
            "Whether a landfill may take grass is not known here: "
            f"ask {here.book.places.authority(here.jurisdiction)}."
        )
    heard = (
        f" This was read second hand: ask {here.book.places.authority(here.jurisdiction)}."
        if ruled.row.standing is Standing.SECOND_HAND
        else ""
    )
    if ruled.row.value:
        return f"The law here keeps grass out of landfills ({ruled.row.where}).{heard}"
    return (
        f"The law here does not keep grass out of landfills ({ruled.row.where}); "
        f"the landfill or the county may.{heard}"
    )

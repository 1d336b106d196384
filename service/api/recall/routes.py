"""The route that traces lots."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Day, Identifier, Text
from service.api.work.shapes import (
    AMOUNT,
    DAY,
    FLAG,
    ID,
    MAYBE_MOMENT,
    MAYBE_TEXT,
    MOMENT,
    RANGE,
    TEXT,
    one_of,
    several,
    whole,
)
from service.core.callers.access import Act
from service.core.errors import FieldFault
from service.core.materials import LotStatus
from service.usecases.mass_book.recall import TraceLots
from service.usecases.mass_book.wanted_lots import WantedLots

LAWN: Final = {"lawn_id": ID, "lawn": TEXT, "property": TEXT}
RECALL: Final = whole(
    {
        "as_of": MOMENT,
        "lots": several(
            whole(
                {
                    "job_id": ID,
                    "lot_code": TEXT,
                    "cut_at": MOMENT,
                    "property": TEXT,
                    "lawn": MAYBE_TEXT,
                    "status": one_of(LotStatus),
                    "collected": FLAG,
                }
            )
        ),
        "lawns": several(whole({**LAWN, "since": DAY})),
        "not_known": several(
            whole({"treatment_id": ID, "product": TEXT, "applied_on": DAY, **LAWN})
        ),
        "mixed_with": several(whole({"job_id": ID, "lot_code": TEXT, "status": one_of(LotStatus)})),
        "places": several(
            whole(
                {
                    "kind": TEXT,
                    "place_id": ID,
                    "name": TEXT,
                    "address": MAYBE_TEXT,
                    "lot_codes": several(TEXT),
                    "mixed": FLAG,
                    "days": several(DAY),
                    "loads": several(whole({"load_id": ID, "done_at": MAYBE_MOMENT})),
                    "mass_kg": RANGE,
                    "counted_kg": AMOUNT,
                    "notes": several(
                        whole({"note_id": ID, "number": TEXT, "version": {"type": "integer"}})
                    ),
                }
            )
        ),
        "people": several(
            whole(
                {
                    "role": one_of(("client", "compost_site")),
                    "name": TEXT,
                    "phone": MAYBE_TEXT,
                    "language": MAYBE_TEXT,
                    "place_ids": several(ID),
                    "say": several(TEXT),
                }
            )
        ),
    },
    description=(
        "Where everything of some lots is or went, and whom to tell what. `lawns` are those asked "
        "about, each since which day of cutting. `not_known` are treatments of which nobody knows "
        "whether they are with the active ingredient that was asked for: their product's are not "
        "on record. Their lots are not among `lots`; find out, or ask about each lawn."
    ),
)


class RecallQuery(Described):
    """Which lots: one of lawn_id, lot_code, product and destination_id."""

    lawn_id = Identifier(metadata={"description": "What was cut on this lawn."})
    lot_code = Text(longest=20, metadata={"description": "This lot."})
    product = Text(
        longest=200,
        metadata={
            "description": "What was cut on lawns after this product or active ingredient, by any "
            "of its names; 404 where no treatment on record names it."
        },
    )
    destination_id = Identifier(
        metadata={"description": "What came to this bed, site or bay, and where else it went."}
    )
    since = Day(
        metadata={
            "description": "First day of cutting (of a place: of bringing); a year back if absent, "
            "of a product the day it was applied."
        }
    )
    until = Day(
        metadata={
            "description": "Last day; today if absent. A recall of a last day that is not over "
            "everywhere freezes whatever is cut on its lawns from then on, too, until it is ended."
        }
    )

    def contradictions(self, values: Mapping[str, Any]) -> list[FieldFault]:
        """Return what is asked for besides one thing, and days out of order."""
        return wanted_lots(values).faults()


def wanted_lots(values: Mapping[str, Any]) -> WantedLots:
    """Return which lots the values of a query or a body ask for."""
    return WantedLots(**{name: values.get(name) for name in RecallQuery().fields})


def recall_routes(trace_lots: TraceLots, door: Door) -> Routes:
    """Return the route of /recall."""
    routes = Routes(
        "recall",
        description=(
            "A treatment, disease or contamination that is learned late: where everything of the "
            "lots concerned is or went by the mass book, through mixtures and bays, with the notes "
            "that say otherwise and the people to call. Record what was learned (a treatment, or "
            "the job's own fields) to have statuses, plans and notes follow."
        ),
    )

    @routes.operation(
        "GET",
        "/recall",
        name="read_recall",
        summary="Find every place that something of a lawn's, lot's or product's grass came to.",
        may_answer=(404,),
    )
    @door.admits(Act.READ)
    @routes.query(RecallQuery)
    @routes.response(200, RECALL)
    def read_recall(asked: Asked, query: Mapping[str, Any]) -> dict[str, object]:
        return trace_lots(asked.caller, wanted_lots(query))

    return routes

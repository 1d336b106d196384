"""Which day of which depot is asked about."""

from __future__ import annotations

from service.api.contract.schemas import Described
from service.api.fields import Identifier


class RoutingQuery(Described):
    """Whose day, when there are several depots."""

    depot_id = Identifier(required=True)

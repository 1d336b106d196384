"""Depots with their hold bays, and the sites that take clippings."""

from __future__ import annotations

from typing import Final

from marshmallow import fields

from service.api.books.hours import closed_on_field, hours_field
from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import Described, RecordFields, ValueFields
from service.api.fields import (
    Choice,
    Day,
    Flag,
    Identifier,
    Integer,
    Moment,
    Number,
    Several,
    Text,
    TimeOfDay,
    ZoneName,
)
from service.api.fields.quantities import PointField
from service.api.fields.words import Jurisdiction
from service.api.records.resource import Resource
from service.core.acceptance.fees import Fee, FeeBasis
from service.core.acceptance.kills import Kill, KillEvidence
from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.acceptance.terms import SiteTerms
from service.core.callers.access import Act
from service.core.materials import LotStatus
from service.core.places import CompostSite, Depot, HoldBay


class DepotFields(RecordFields):
    """A yard that crews start from."""

    record_type = Depot

    name = Text(longest=200)
    address = Text(longest=500, breaks=True)
    point = PointField()
    time_zone = ZoneName(metadata={"description": "Its midnight begins the working day."})
    shift_starts = TimeOfDay()
    shift_ends = TimeOfDay()
    jurisdiction = Jurisdiction()
    fairness_limit_kg_per_m2 = Number(
        above=0,
        high=100,
        metadata={
            "description": (
                "No bed gets more than this in any 30 days, at the high end of the estimates. "
                "Null: no limit but those of rules and clients."
            )
        },
    )
    fairness_price_cents_per_t_per_kg_per_m2 = Integer(
        low=0,
        high=100_000,
        metadata={
            "description": (
                "What a tonne for a bed counts more in a plan for each kg/m2 that the bed got in "
                "the last 30 days, in hundredths of the firm's currency. Nobody pays it; it lets "
                "a bed further off win. Null: nothing."
            )
        },
    )
    crew_minute_cents = Integer(
        low=0,
        high=10_000,
        metadata={
            "description": (
                "What a minute of a crew on the way, at a tip or loading counts in a plan, and on "
                "the way or at a tip in sums of costs, in hundredths of the firm's currency. "
                "Null: the rule of this name "
                "for the currency; where there is none, the time is not priced. 0: it costs "
                "nothing before overtime."
            )
        },
    )


class HoldBayFields(RecordFields):
    """A bay of a depot where clippings wait."""

    record_type = HoldBay

    depot_id = Identifier()
    name = Text(longest=200)
    volume_m3 = Number(above=0, high=10_000)
    leachate_contained = Flag(
        metadata={"description": "Whether what runs out of a heap is caught."}
    )


class FeeFields(ValueFields):
    """A site's fee, in hundredths of the firm's currency."""

    record_type = Fee

    basis = Choice(FeeBasis)
    amount_cents = Integer(low=0, high=1_000_000)
    minimum_cents = Integer(low=0, high=1_000_000)


class LiveStatusFields(ValueFields):
    """What a site says of itself, and when it said so."""

    record_type = LiveStatus

    state = Choice(SiteState)
    as_of = Moment()
    capacity_left_kg = Number(low=0, high=10_000_000)
    closes_early_at = Moment()
    note = Text(longest=500, breaks=True)


class KillEvidenceFields(ValueFields):
    """That a site's process was shown to end one thing: what, by which paper, from when on."""

    record_type = KillEvidence

    kill = Choice(
        Kill,
        metadata={
            "description": (
                "Evidence for one says nothing of another: a vessel that meets the rules on "
                "pathogens of people may leave weed seeds alive."
            )
        },
    )
    reference = Text(
        longest=200, metadata={"description": "The test, certificate or approval, to be asked for."}
    )
    shown_on = Day()
    valid_until = Day()


class SiteTermsFields(ValueFields):
    """What a site asked for and took until other terms held."""

    record_type = SiteTerms

    holds_from = Day()
    fee = fields.Nested(FeeFields)
    accepted_statuses = Several(Choice(LotStatus), most=5)
    takes_sour = Flag()
    hours = hours_field()


class SiteTermsBefore(Described):
    """What the service keeps of a site's terms of before."""

    terms_before = Several(
        fields.Nested(SiteTermsFields),
        most=1000,
        metadata={
            "description": "Terms that were replaced, the oldest first, each from `holds_from` "
            "(null: nobody said from when) until the next held. Tips, also those that are "
            "reported late, are charged and judged by the terms of their own day."
        },
    )


class CompostSiteFields(RecordFields):
    """A compost site, its hours, what it takes and what it costs."""

    record_type = CompostSite

    name = Text(longest=200)
    operator = Text(longest=200)
    address = Text(longest=500, breaks=True)
    point = PointField()
    time_zone = ZoneName()
    phone = Text(longest=40)
    accepted_statuses = Several(
        Choice(LotStatus),
        most=5,
        unique=True,
        metadata={
            "description": (
                "Never `littered`, which no site takes; whether it takes what has stood too long "
                "is said in `takes_sour`, not by `sour` here."
            )
        },
    )
    hours = hours_field()
    closed_on = closed_on_field()
    daily_capacity_kg = Number(low=0, high=10_000_000)
    fee = fields.Nested(FeeFields)
    live_status = fields.Nested(LiveStatusFields)
    unloading_minutes = Integer(low=1, high=240)
    jurisdiction = Jurisdiction()
    process_temperature_c = Number(
        low=20, high=90, metadata={"description": "What its heaps are held at, if known."}
    )
    process_days = Number(
        above=0, high=730, metadata={"description": "How long they are held there."}
    )
    process_turnings = Integer(low=0, high=100)
    feeds_ended_at = Moment(
        metadata={
            "description": "Addresses of its calendar that were made before open nothing. Not "
            "after now, and never taken back."
        }
    )
    takes_sour = Flag(
        metadata={
            "description": (
                "Whether its gate takes clippings that have stood until they are sour. Null: it "
                "has not said, and by advice none are brought (`site_sour_not_said`): ask it."
            )
        }
    )
    terms_from = Day(
        metadata={
            "description": (
                "The day from which `fee`, `hours`, `accepted_statuses` and `takes_sour` hold as "
                "they are here; another one may lie ahead, or behind where they were recorded too "
                "late. An amendment of any of them without it holds from its own day. Null: since "
                "ever. Loads that were charged before keep their fee."
            )
        }
    )
    kill_evidence = Several(
        fields.Nested(KillEvidenceFields),
        most=20,
        metadata={
            "description": (
                "Weedy and diseased lots are taken only where the stated process meets a rule "
                "for that kill, or evidence for that kill stands here."
            )
        },
    )


DEPOTS: Final = Resource(
    path="depots",
    one="depot",
    many="depots",
    about="Depots: yards that crews start from. A working day is a day of a depot.",
    fields=DepotFields,
    filters={"name": Text(longest=200)},
    example={
        "name": "Yard",
        "address": "1 Depot Lane, Anytown",
        "point": {"type": "Point", "coordinates": [-1.25, 51.75]},
        "time_zone": "Europe/London",
        "shift_starts": "07:00",
        "shift_ends": "17:30",
        "jurisdiction": "GB-ENG",
    },
    changes_example={
        "shift_ends": "18:00",
        "fairness_limit_kg_per_m2": 3.5,
        "fairness_price_cents_per_t_per_kg_per_m2": 1500,
        "crew_minute_cents": 75,
    },
)

HOLD_BAYS: Final = Resource(
    path="hold-bays",
    one="hold bay",
    many="hold bays",
    about="Hold bays: where clippings wait at a depot.",
    fields=HoldBayFields,
    filters={"depot_id": Identifier()},
    example={
        "depot_id": OTHER_ID,
        "name": "Bay 1",
        "volume_m3": 12,
        "leachate_contained": True,
    },
    changes_example={"volume_m3": 10},
)

COMPOST_SITES: Final = Resource(
    path="compost-sites",
    one="compost site",
    many="compost sites",
    about="Compost sites: their hours, what they take, what it costs, and their word on the day.",
    fields=CompostSiteFields,
    answered=(SiteTermsBefore,),
    read_act=Act.READ_OWN,
    filters={"name": Text(longest=200)},
    example={
        "name": "Hill Farm",
        "operator": "Hill Farm Compost",
        "address": "Hill Farm, Anytown",
        "point": {"type": "Point", "coordinates": [-1.31, 51.77]},
        "time_zone": "Europe/London",
        "jurisdiction": "GB-ENG",
        "accepted_statuses": ["clean", "weedy"],
        "takes_sour": True,
        "hours": [{"weekday": 0, "opens": "08:00", "closes": "17:00", "last_load": "16:30"}],
        "daily_capacity_kg": 20_000,
        "fee": {"basis": "per_tonne", "amount_cents": 3200, "minimum_cents": 1500},
    },
    changes_example={
        "live_status": {
            "state": "open",
            "as_of": "2026-05-24T12:00:00Z",
            "closes_early_at": "2026-05-24T14:00:00Z",
        }
    },
)

# Others' places that take clippings.
SITES: Final = (COMPOST_SITES,)

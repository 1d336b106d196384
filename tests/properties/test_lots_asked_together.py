"""No lot gets the verdict of another: asked beside others, it is told what it is told alone."""

from dataclasses import fields, replace
from datetime import timedelta
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.acceptance.kills import Kill, KillEvidence
from service.core.jobs import LotFinding
from service.core.materials import LotStatus, Wetness
from service.core.measures.estimates import Estimate
from service.core.permission.legal_basis import LegalBasis, LegalBasisKind
from service.core.plans import RuleClass
from service.destinations.bed import BedDestination
from service.destinations.compost_site import CompostSiteDestination
from service.destinations.hold_bay import HoldBayDestination
from service.destinations.keeping import KeepingTime
from service.destinations.laid.ledger import BedLedger
from service.destinations.layer_depth import layer_depths
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import Lot, Wait
from service.rules.here import RulesHere
from service.usecases.day.destinations import TurnedAway, ask_all
from tests.builders import DAY, HOME, JURISDICTION, NOON, PLACE, RULES, a_bay, a_bed, a_site, kept

NOBODY = TurnedAway(loads={}, day=DAY)


def bed(number, **changes):
    own = a_bed(**kept(number), **changes)
    return BedDestination(
        own,
        point=PLACE,
        ledger=BedLedger(),
        depths=layer_depths(here=RulesHere(RULES, DAY, JURISDICTION)),
        here=RulesHere(RULES, DAY, JURISDICTION),
    )


def site(number, **changes):
    own = a_site(**kept(number), **changes)
    return CompostSiteDestination(own, here=RulesHere(RULES, DAY, JURISDICTION), now=NOON)


READY = [
    ReadyDestination(
        destination=destination, name="Place", tip_s=60, open_s=0, close_s=86_400, fee=None
    )
    for destination in (
        bed(60),
        bed(61, edible=True),
        bed(62, legal_basis=LegalBasis(kind=LegalBasisKind.GROWN_ON_SAME_PROPERTY)),
        site(63),
        site(64, accepted_statuses=tuple(set(LotStatus) - {LotStatus.LITTERED})),
        site(
            67,
            accepted_statuses=tuple(set(LotStatus) - {LotStatus.LITTERED}),
            kill_evidence=(KillEvidence(kill=Kill.WEED_SEED, reference="Test 1", shown_on=DAY),),
        ),
        site(
            65,
            accepted_statuses=tuple(set(LotStatus) - {LotStatus.LITTERED}),
            process_temperature_c=65.0,
            process_days=30.0,
            process_turnings=3,
        ),
        HoldBayDestination(
            a_bay(**kept(66)),
            point=PLACE,
            lying_m3=0.0,
            here=RulesHere(RULES, DAY, JURISDICTION),
        ),
    )
]

words = st.sampled_from(["one", "other"])
waits = st.builds(
    Wait,
    over=st.booleans(),
    code=words,
    sentence=words,
    rule_class=st.sampled_from([RuleClass.LABEL, RuleClass.ADVICE]),
    facts=st.fixed_dictionaries({"days_left": st.sampled_from([7, 30])}),
    sources=st.sampled_from([(), ("common-practice",)]),
    composting_days=st.sampled_from([0, 400]),
)


def about(likely, unit):
    """Return a strategy of estimates of a quantity."""
    return st.sampled_from([0.5, 1.0, 2.0]).map(
        lambda factor: Estimate(
            low=likely * factor / 2,
            likely=likely * factor,
            high=likely * factor * 2,
            unit=unit,
            basis="test",
            sources=(),
        )
    )


lots = st.builds(
    Lot,
    job_id=st.just(UUID(int=0)),
    lot_code=words,
    property_id=st.one_of(st.just(HOME), st.uuids()),
    mass_kg=about(100.0, "kg"),
    volume_m3=about(0.4, "m3"),
    nitrogen_kg=about(0.7, "kg"),
    carbon_to_nitrogen=about(14.0, "1"),
    cut_at=st.sampled_from([NOON, NOON + timedelta(hours=30)]),
    wetness=st.sampled_from(list(Wetness)),
    keeps=st.sampled_from([6, 24, 40]).map(
        lambda hours: KeepingTime(amber=timedelta(hours=6), red=timedelta(hours=hours))
    ),
    findings=st.lists(
        st.builds(LotFinding, status=st.sampled_from(list(LotStatus)), code=words), max_size=2
    ).map(tuple),
    waits=st.dictionaries(
        st.sampled_from(["bed", "edible_bed", "compost_site", "lawn"]), waits, max_size=3
    ),
)


def one_field_otherwise(record, other):
    """Return copies of a record, each with one field as another record has it."""
    return [
        replace(record, **{field.name: getattr(other, field.name)})
        for field in fields(record)
        if field.name != "job_id"
    ]


def twins_of(lot, other, wait):
    """Return every lot that differs from a lot in one field, or in one field of one wait."""
    twins = one_field_otherwise(lot, other)
    for use, own in lot.waits.items():
        twins += [
            replace(lot, waits={**lot.waits, use: changed})
            for changed in one_field_otherwise(own, wait)
        ]
    return [replace(twin, job_id=UUID(int=number)) for number, twin in enumerate(twins, start=1)]


@settings(max_examples=60)
@given(lot=lots, other=lots, wait=waits)
def test_lots_that_differ_in_any_one_field_are_told_what_each_is_told_alone(lot, other, wait):
    every = [replace(lot, job_id=UUID(int=0)), *twins_of(lot, other, wait)]
    together = ask_all({one.job_id: one for one in every}, READY, turned_away=NOBODY)
    for one in every:
        alone = ask_all({one.job_id: one}, READY, turned_away=NOBODY)
        assert together.verdicts[one.job_id] == alone.verdicts[one.job_id]

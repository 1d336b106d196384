"""No lot gets the verdict of another: asked beside others, it is told what it is told alone."""

from dataclasses import fields, replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.estimates import Estimate
from service.core.jobs import LotFinding
from service.core.materials import LotStatus, Wetness
from service.core.places import LegalBasis, LegalBasisKind
from service.core.plans import RuleClass
from service.destinations.bed import BedDestination
from service.destinations.bed_ledger import BedLedger
from service.destinations.compost_site import CompostSiteDestination
from service.destinations.hold_bay import HoldBayDestination
from service.destinations.layer_depth import layer_depths
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import Lot, Wait
from service.usecases.day.destinations import TurnedAway, ask_all
from tests.builders import DAY, HOME, JURISDICTION, NOON, PLACE, RULES, a_bay, a_bed, a_site, kept

NOBODY = TurnedAway(loads={})


def bed(number, **changes):
    own = a_bed(**kept(number), **changes)
    return BedDestination(
        own,
        point=PLACE,
        ledger=BedLedger(),
        depths=layer_depths(rulebook=RULES, day=DAY, jurisdiction=JURISDICTION),
        rulebook=RULES,
        day=DAY,
        jurisdiction=JURISDICTION,
    )


def site(number, **changes):
    own = a_site(**kept(number), **changes)
    return CompostSiteDestination(own, rulebook=RULES, day=DAY, now=NOON, jurisdiction=JURISDICTION)


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
            rulebook=RULES,
            day=DAY,
            jurisdiction=JURISDICTION,
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
    job_id=st.uuids(),
    lot_code=words,
    property_id=st.one_of(st.just(HOME), st.uuids()),
    mass_kg=about(100.0, "kg"),
    volume_m3=about(0.4, "m3"),
    nitrogen_kg=about(0.7, "kg"),
    carbon_to_nitrogen=about(14.0, "1"),
    cut_at=st.sampled_from([NOON, NOON + timedelta(hours=30)]),
    wetness=st.sampled_from(list(Wetness)),
    findings=st.lists(
        st.builds(LotFinding, status=st.sampled_from(list(LotStatus)), code=words), max_size=2
    ).map(tuple),
    waits=st.dictionaries(
        st.sampled_from(["bed", "edible_bed", "compost_site", "lawn"]), waits, max_size=3
    ),
    treatments_recorded=st.booleans(),
)


@st.composite
def pairs(draw):
    """Return two lots that differ in one field, or in one field of one of their waits."""
    lot, other = draw(lots), draw(lots)
    twin = replace(lot, job_id=other.job_id)
    name = draw(st.sampled_from([field.name for field in fields(Lot) if field.name != "job_id"]))
    if name != "waits" or not lot.waits or draw(st.booleans()):
        return lot, replace(twin, **{name: getattr(other, name)})
    use = draw(st.sampled_from(sorted(lot.waits)))
    about_it = draw(st.sampled_from([field.name for field in fields(Wait)]))
    changed = replace(lot.waits[use], **{about_it: getattr(draw(waits), about_it)})
    return lot, replace(twin, waits={**lot.waits, use: changed})


@settings(max_examples=400)
@given(pair=pairs())
def test_two_lots_that_differ_in_any_one_field_are_told_what_each_is_told_alone(pair):
    if pair[0].job_id == pair[1].job_id:
        return
    together = ask_all({lot.job_id: lot for lot in pair}, READY, turned_away=NOBODY)
    for lot in pair:
        alone = ask_all({lot.job_id: lot}, READY, turned_away=NOBODY)
        assert together.verdicts[lot.job_id] == alone.verdicts[lot.job_id]

"""Any valid note at all, for tests of what must hold for every one."""

from datetime import UTC, date, datetime, timedelta, timezone

from hypothesis import strategies as st

from service.core.measures.estimates import Estimate
from service.documents.facts.bed import (
    Animal,
    BedFacts,
    BindingLimit,
    Browns,
    Drainage,
    DryLayer,
    DryMaterial,
    Guidance,
    KeepOff,
    LimitOf,
    TooMuch,
    Wilting,
)
from service.documents.facts.note import (
    Amount,
    Carrier,
    Change,
    EstimateBasis,
    Finding,
    NoteFacts,
    Origin,
    Receiver,
    Replaced,
    Sender,
    Treatment,
    Weighing,
)
from service.documents.facts.values import (
    Listed,
    LotStatement,
    LotStatements,
    Named,
    Quantity,
    Rounding,
    Unit,
)

texts = st.text(min_size=1, max_size=12)
days = st.dates(min_value=date(2020, 1, 1), max_value=date(2035, 12, 31))
moments = st.builds(
    datetime.combine, days, st.times(), tzinfo=st.sampled_from([UTC, timezone(timedelta(hours=-5))])
)
amounts = st.floats(min_value=0.5, max_value=5000)
animals = st.frozensets(st.sampled_from(Animal))
materials = st.sampled_from(DryMaterial)


@st.composite
def estimates(draw: st.DrawFn, unit: str) -> Estimate:
    low, likely, high = sorted(draw(st.lists(amounts, min_size=3, max_size=3)))
    return Estimate(low=low, likely=likely, high=high, unit=unit, basis="test", sources=())


@st.composite
def some_amount(draw: st.DrawFn) -> Amount:
    estimate = draw(st.none() | estimates("kg"))
    weighing = st.builds(Weighing, net_kg=amounts, ticket=texts)
    return Amount(
        estimate_kg=estimate,
        basis=None if estimate is None else draw(st.sampled_from(EstimateBasis)),
        weighed=draw(weighing if estimate is None else st.none() | weighing),
        volume_litres=draw(estimates("L")),
    )


@st.composite
def origins(draw: st.DrawFn) -> Origin:
    treatment = draw(st.sampled_from(Treatment))
    recorded = treatment in {Treatment.RECORDED_AND_CLEAR, Treatment.RECORDED_AND_WAITING}
    wait = days if treatment is Treatment.RECORDED_AND_CLEAR else st.none() | days
    return Origin(
        lot_code=draw(texts),
        locality=draw(texts),
        cut_at=draw(moments),
        age_hours=draw(st.floats(min_value=0, max_value=100)),
        treatment=treatment,
        records_read_on=draw(days),
        active_ingredients=tuple(draw(st.lists(texts, min_size=1, max_size=3))) if recorded else (),
        treated_on=draw(days) if recorded else None,
        wait_ends_on=draw(wait) if recorded else None,
        rule=draw(texts) if recorded else None,
        findings=draw(st.frozensets(st.sampled_from(Finding))),
    )


values = st.one_of(
    texts,
    st.integers(min_value=0, max_value=10_000),
    days,
    moments,
    st.builds(
        Quantity, value=amounts, unit=st.sampled_from(Unit), rounding=st.sampled_from(Rounding)
    ),
    estimates("kg"),
    st.builds(Named, key=st.sampled_from(["what.fresh_grass_clippings", "acknowledged.refused"])),
    st.builds(
        LotStatements,
        lots=st.lists(
            st.builds(
                LotStatement, lot_code=texts, statement=st.just(Named(key="statement.not_known"))
            ),
            max_size=3,
        ).map(tuple),
    ),
    st.builds(Listed, names=st.lists(texts, max_size=8).map(tuple)),
)
changes = st.builds(
    Change, field=st.sampled_from(["weighed", "depth_mm", "other"]), old=values, new=values
)
dry_layers = st.none() | st.builds(DryLayer, material=materials, depth_mm=amounts)
browns = st.none() | st.one_of(
    st.builds(Browns, material=materials, mass_kg=amounts, volume_litres=amounts),
    st.builds(
        Browns,
        material=materials,
        mass_kg=amounts,
        volume_litres=amounts,
        bags=st.integers(min_value=1, max_value=200),
        bag_litres=amounts,
    ),
)
guidances = st.builds(
    Guidance,
    depth_mm=amounts,
    binding_limit=st.sampled_from(BindingLimit),
    area_covered_m2=amounts,
    layers=st.integers(min_value=1, max_value=5),
    days_between_layers=st.integers(min_value=1, max_value=60),
    no_more_before=st.none() | days,
    keep_off=st.builds(
        KeepOff,
        stems_mm=amounts,
        trunks_mm=amounts,
        water_m=st.none() | amounts,
        wells_m=st.none() | amounts,
    ),
    browns=browns,
    wilting=st.none() | st.just(Wilting(hours_low=4, hours_high=24)),
    base=dry_layers,
    cover=dry_layers,
    too_much=st.none()
    | st.builds(
        TooMuch,
        limit_of=st.sampled_from(LimitOf),
        allowed_kg=st.just(0.0) | amounts,
        law_allows_kg=st.none() | amounts,
    ),
)


@st.composite
def notes(draw: st.DrawFn) -> NoteFacts:
    replaces = draw(
        st.none()
        | st.builds(
            Replaced,
            version=st.integers(min_value=1, max_value=9),
            changes=st.lists(changes, min_size=1, max_size=3).map(tuple),
        )
    )
    return NoteFacts(
        number=f"DN-{draw(st.integers(min_value=1, max_value=999_999))}",
        version=1 if replaces is None else replaces.version + 1,
        issued_at=draw(moments),
        working_day=draw(days),
        sender=draw(st.builds(Sender, name=texts, phone=texts, address=texts)),
        receiver=draw(
            st.builds(
                Receiver,
                name=texts,
                place=texts,
                access_notes=texts,
                may_sign=st.lists(texts, max_size=3).map(tuple),
            )
        ),
        carrier=draw(
            st.builds(
                Carrier,
                crew=texts,
                vehicle_registration=texts,
                carrier_registration=st.none() | texts,
            )
        ),
        amount=draw(some_amount()),
        origins=tuple(draw(st.lists(origins(), min_size=1, max_size=4))),
        bed=draw(
            st.builds(
                BedFacts,
                name=texts,
                area_m2=amounts,
                grows_food=st.booleans(),
                organic=st.booleans(),
                animals=animals,
                sloping=st.booleans(),
                drainage=st.sampled_from(Drainage),
                near_drain_or_paving=st.booleans(),
            )
        ),
        guidance=draw(guidances),
        sources=tuple(sorted(draw(st.frozensets(texts, max_size=4)))),
        waste_code=draw(st.none() | st.just("20 02 01")),
        legal_basis=draw(st.none() | texts),
        legal_basis_until=draw(st.none() | days),
        replaces=replaces,
    )

"""What a reader of a corrected note must know has changed."""

from __future__ import annotations

from service.core.measures.estimates import Estimate
from service.destinations.verdicts import whole_kg
from service.documents.facts.note import Change, NoteFacts
from service.documents.facts.values import (
    Listed,
    LotStatement,
    LotStatements,
    Named,
    Quantity,
    Rounding,
    Unit,
    Value,
)


def changes_between(old: NoteFacts, new: NoteFacts) -> tuple[Change, ...]:
    """Return what a reader must know has changed, field by field."""
    pairs: list[tuple[str, Value, Value]] = [
        ("called_back", _called_back(old), _called_back(new)),
        ("estimate_kg", _mass(old), _mass(new)),
        ("weighed", _weighed(old), _weighed(new)),
        ("volume_litres", old.amount.volume_litres, new.amount.volume_litres),
        ("place", old.receiver.place, new.receiver.place),
        ("bed", old.bed.name, new.bed.name),
        ("receiver", old.receiver.name, new.receiver.name),
        ("carrier", old.carrier.vehicle_registration, new.carrier.vehicle_registration),
        ("origins", _lots(old), _lots(new)),
        ("treatment", _treatments(old), _treatments(new)),
        ("allowed", _allowed(old), _allowed(new)),
        ("layers", old.guidance.layers, new.guidance.layers),
        ("depth_mm", _depth(old), _depth(new)),
    ]
    return tuple(
        Change(field=field, old=before, new=after)
        for field, before, after in pairs
        if before != after
    )


def _called_back(facts: NoteFacts) -> Named | str:
    return Named(key="heading.called_back") if facts.called_back else "-"


def _mass(facts: NoteFacts) -> Estimate | str:
    return facts.amount.estimate_kg or "-"


def _weighed(facts: NoteFacts) -> Quantity | str:
    weighed = facts.amount.weighed
    return "-" if weighed is None else Quantity(value=weighed.net_kg, unit=Unit.KILOGRAM)


def _allowed(facts: NoteFacts) -> Quantity | str:
    too_much = facts.guidance.too_much
    if too_much is None:
        return "-"
    allowed_kg = whole_kg(too_much.allowed_kg)
    return Quantity(value=allowed_kg, unit=Unit.KILOGRAM, rounding=Rounding.AT_MOST)


def _lots(facts: NoteFacts) -> Listed:
    return Listed(names=tuple(origin.lot_code for origin in facts.origins))


def _treatments(facts: NoteFacts) -> LotStatements:
    return LotStatements(
        lots=tuple(
            LotStatement(
                lot_code=origin.lot_code,
                statement=Named(key=f"statement.{origin.treatment.value}"),
            )
            for origin in facts.origins
        )
    )


def _depth(facts: NoteFacts) -> Quantity:
    return Quantity(value=round(facts.guidance.depth_mm, 1), unit=Unit.MILLIMETRE)

"""The shape of a problem file: which keys, which types, which ranges. Faults, not exceptions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from service.planning.model.faults import Fault

DAY_S = 86_400
MOST = 1_000_000_000  # no mass, distance, time or money of one day is larger; keeps sums in 64 bits


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """A whole number from ``low`` to ``high``."""

    low: int = 0
    high: int = MOST
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Real:
    """A finite number from ``low`` to ``high``; only latitude and longitude are such."""

    low: float
    high: float
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A text that is not empty, or one of ``allowed``."""

    allowed: tuple[str, ...] = ()
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """A value that is judged elsewhere; only its JSON type is judged here."""

    kind: type
    required: bool = True


Rule = Whole | Real | Word | Other

PROBLEM: Mapping[str, Rule] = {
    "format": Whole(low=1, high=1),
    "name": Word(),
    "costs": Other(kind=dict),
    "statuses": Other(kind=list),
    "places": Other(kind=list),
    "matrix": Other(kind=dict, required=False),
    "vehicles": Other(kind=list),
    "jobs": Other(kind=list),
    "destinations": Other(kind=list),
}
COSTS: Mapping[str, Rule] = {
    "drive_cents_per_km": Whole(high=1_000_000),
    "late_cents_per_min": Whole(high=1_000_000),
    "overtime_cents_per_min": Whole(high=1_000_000),
    "overflow_cents_per_kg": Whole(high=1_000_000),
    "speed_m_per_min": Whole(low=1, high=100_000),
    "detour_permille": Whole(low=1000, high=10_000),
    "minimum_tip_kg": Whole(low=1),
    "tips_between_jobs": Whole(low=1, high=5),
    "unplaced_cents_per_kg": Whole(high=10_000_000, required=False),
    "change_cents_per_stop": Whole(high=10_000_000, required=False),
    "crew_cents_per_min": Whole(high=1_000_000, required=False),
}
PLACE: Mapping[str, Rule] = {
    "id": Word(),
    "x_m": Whole(low=-MOST // 100, high=MOST // 100, required=False),
    "y_m": Whole(low=-MOST // 100, high=MOST // 100, required=False),
    "lat": Real(low=-90, high=90, required=False),
    "lon": Real(low=-180, high=180, required=False),
}
MATRIX: Mapping[str, Rule] = {
    "distance_m": Other(kind=list),
    "duration_s": Other(kind=list),
}
VEHICLE: Mapping[str, Rule] = {
    "id": Word(),
    "start_place": Word(),
    "end_place": Word(),
    "shift_start_s": Whole(high=2 * DAY_S),
    "shift_end_s": Whole(high=2 * DAY_S),
    "payload_kg": Whole(low=1),
    "body_l": Whole(low=1),
    "jobs": Other(kind=list),
    "aboard": Other(kind=list, required=False),
    "done": Other(kind=list, required=False),
    "locked": Other(kind=list, required=False),
    "least_permille": Whole(low=1000, high=1_000_000, required=False),
}
ABOARD: Mapping[str, Rule] = {
    "mass_kg": Whole(),
    "volume_l": Whole(),
    "status": Word(),
    "job": Word(required=False),
}
LOCKED: Mapping[str, Rule] = {
    "after_job": Word(required=False),
    "destination": Word(),
    "mass_kg": Whole(low=1, required=False),
}
JOB: Mapping[str, Rule] = {
    "id": Word(),
    "place": Word(),
    "mass_kg": Whole(),
    "volume_l": Whole(),
    "status": Word(),
    "service_s": Whole(high=2 * DAY_S),
    "window_s": Other(kind=list),
    "refused_destinations": Other(kind=dict, required=False),
}
DESTINATION: Mapping[str, Rule] = {
    "id": Word(),
    "kind": Word(),
    "place": Word(),
    "capacity_kg": Whole(),
    "fee_cents_per_t": Whole(),
    "accepts": Other(kind=list),
    "tip_s": Whole(high=2 * DAY_S),
    "stop_cents": Whole(),
    "open_s": Whole(high=2 * DAY_S),
    "close_s": Whole(high=2 * DAY_S),
    "burden_cents_per_t": Whole(required=False),
    "may_overflow": Other(kind=bool, required=False),
    "accepts_until_s": Other(kind=dict, required=False),
    "least_kg": Whole(required=False),
    "pause_from_s": Whole(high=2 * DAY_S, required=False),
    "pause_until_s": Whole(high=2 * DAY_S, required=False),
}
DONE_JOB: Mapping[str, Rule] = {
    "job": Word(),
    "arrive_s": Whole(high=2 * DAY_S),
    "leave_s": Whole(high=2 * DAY_S, required=False),
}
DONE_TIP: Mapping[str, Rule] = {
    "destination": Word(),
    "mass_kg": Whole(),
    "volume_l": Whole(),
    "arrive_s": Whole(high=2 * DAY_S),
    "leave_s": Whole(high=2 * DAY_S, required=False),
    "statuses": Other(kind=list, required=False),
    "reason": Other(kind=str, required=False),
}

_TYPE_NAMES = {dict: "an object", list: "a list", bool: "true or false", str: "a text"}


@dataclass(slots=True, kw_only=True)
class Findings:
    """Collects faults while a document is read."""

    faults: list[Fault] = field(default_factory=list)

    def add(self, pointer: str, code: str, detail: str) -> None:
        """Keep one fault."""
        self.faults.append(Fault(pointer=pointer, code=code, detail=detail))

    def shape(self, value: object, pointer: str, rules: Mapping[str, Rule]) -> bool:
        """Judge an object against its keys; true if nothing is wrong with it."""
        before = len(self.faults)
        if not isinstance(value, dict):
            self.add(pointer, "wrong_type", "This must be an object.")
            return False
        for key in value:
            if key not in rules:
                self.add(
                    f"{pointer}/{escaped(key)}",
                    "unknown_key",
                    f"This key is not known here. Known are: {', '.join(rules)}.",
                )
        for key, rule in rules.items():
            if key not in value:
                if rule.required:
                    self.add(f"{pointer}/{key}", "missing", "This key is required.")
            else:
                self._value(value[key], f"{pointer}/{key}", rule)
        return len(self.faults) == before

    def _value(  # noqa: C901 - one case a kind of rule
        self, value: object, pointer: str, rule: Rule
    ) -> None:
        match rule:
            case Whole(low=low, high=high):
                if isinstance(value, bool) or not isinstance(value, int):
                    self.add(pointer, "wrong_type", "This must be a whole number.")
                elif not low <= value <= high:
                    self.add(pointer, "out_of_range", f"{value} is not within {low} to {high}.")
            case Real(low=lowest, high=highest):
                if isinstance(value, bool) or not isinstance(value, int | float):
                    self.add(pointer, "wrong_type", "This must be a number.")
                elif not (math.isfinite(value) and lowest <= value <= highest):
                    self.add(
                        pointer, "out_of_range", f"{value} is not within {lowest} to {highest}."
                    )
            case Word(allowed=allowed):
                if not isinstance(value, str) or not value:
                    self.add(pointer, "wrong_type", "This must be a text that is not empty.")
                elif allowed and value not in allowed:
                    self.add(pointer, "not_allowed", f"Allowed are: {', '.join(allowed)}.")
            case Other(kind=kind):
                if not isinstance(value, kind):
                    self.add(pointer, "wrong_type", f"This must be {_TYPE_NAMES[kind]}.")

    def known(self, value: object, pointer: str, known: Iterable[str], what: str) -> None:
        """Judge a reference: it must be one of the known ids."""
        if isinstance(value, str) and value and value not in known:
            self.add(pointer, "unknown_id", f"There is no {what} {value!r} in this problem.")


def escaped(key: object) -> str:
    """Return a key as a step of a JSON pointer (RFC 6901, section 3)."""
    return str(key).replace("~", "~0").replace("/", "~1")

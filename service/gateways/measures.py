"""What is counted for whoever watches the service, in the form that Prometheus reads.

Imported only where that is wanted: when it is first imported, the library decides by
`PROMETHEUS_MULTIPROC_DIR` whether it counts for this process alone or, in files, for all that share
the folder. No label tells of a firm, a person or a record: all are from closed lists.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from http import HTTPMethod
from typing import Final

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from service.core.plans import DayPlan
from service.usecases.planning.measured import Measured, TellMeasured

# The text format of Prometheus, which every reader of it takes.
FORM: Final = "text/plain; version=0.0.4; charset=utf-8"
SHARED: Final = "PROMETHEUS_MULTIPROC_DIR"
METHODS: Final = frozenset(HTTPMethod)
PER_MILLE: Final = 1000

_COUNTED: Final = CollectorRegistry()
_REQUESTS: Final = Counter(
    "clipping_requests",
    "Requests answered, by route, method and class of status.",
    ("route", "method", "status"),
    registry=_COUNTED,
)
# Bounds of what is too long for whom; common practice, no source: a touch on a screen, a form, a
# plan that is waited for, and what a proxy gives up on.
_REQUEST_SECONDS: Final = Histogram(
    "clipping_request_seconds",
    "Time until a request was answered, by route and method.",
    ("route", "method"),
    buckets=(0.05, 0.25, 1, 5, 30),
    registry=_COUNTED,
)
_PROBLEMS: Final = Counter(
    "clipping_problems",
    "Answers that are problem details, by their code.",
    ("code",),
    registry=_COUNTED,
)
_FAULTS: Final = Counter(
    "clipping_database_faults",
    "Statements and connections that the database failed: busy by rivals, or out of reach.",
    ("kind",),
    registry=_COUNTED,
)
_PLAN_SECONDS: Final = Histogram(
    "clipping_plan_seconds",
    "Time from reading a day to its stored plan.",
    buckets=(0.25, 1, 2.5, 5, 10, 30, 60),
    registry=_COUNTED,
)
_PLAN_GAP: Final = Histogram(
    "clipping_plan_gap_ratio",
    "Proven most that stored plans could be cheaper, per cost of disposal; of searched days only.",
    buckets=(0, 0.001, 0.01, 0.05, 0.1, 0.25),
    registry=_COUNTED,
)


def request_answered(
    *, route: str, method: str, status: int, seconds: float, problem: str | None
) -> None:
    """Count an answer; a method that nobody defined is not a label of its own."""
    method = method if method in METHODS else "other"
    _REQUESTS.labels(route, method, f"{status // 100}xx").inc()
    _REQUEST_SECONDS.labels(route, method).observe(seconds)
    if problem is not None:
        _PROBLEMS.labels(problem).inc()


def database_failed(kind: str) -> None:
    """Count a fault of the database itself."""
    _FAULTS.labels(kind).inc()


def plan_stored(plan: DayPlan, seconds: float) -> None:
    """Count a plan that was made and stored."""
    _PLAN_SECONDS.observe(seconds)
    gap_permille = plan.routing.get("gap_permille")
    if isinstance(gap_permille, int | float):
        _PLAN_GAP.observe(gap_permille / PER_MILLE)


class _OfRecords(Collector):
    """What the records say at this moment: the same whichever process is asked."""

    def __init__(self, measured: Measured | None) -> None:
        self._measured = measured

    def collect(self) -> Iterator[Metric]:
        """Yield each, and whether the records could be read."""
        read = self._measured is not None
        yield _gauge("clipping_records_read", "1 if the records could be read just now.", read)
        if self._measured is not None:
            for name, (meaning, value) in self._measured.told().items():
                yield _gauge(f"clipping_{name}", meaning, value)


def _gauge(name: str, meaning: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(name, meaning, value=float(value))


def page_of(tell_measured: TellMeasured) -> bytes:
    """Return all that is measured: counted by the processes, and read from the records now."""
    counted: CollectorRegistry = _COUNTED
    if SHARED in os.environ:
        counted = CollectorRegistry()
        MultiProcessCollector(counted)  # type: ignore[no-untyped-call] # its types are partial
    of_records = CollectorRegistry()
    of_records.register(_OfRecords(tell_measured()))
    return generate_latest(counted) + generate_latest(of_records)

"""Is this document a problem? Every fault of shape, reference and contradiction, at once."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

from service.planning.model import file_shape as shapes
from service.planning.model.faults import Fault
from service.planning.model.file_shape import Findings, escaped

_PAIR = 2


def problem_faults(document: object) -> list[Fault]:
    """Return everything that is wrong with a problem document; an empty list if it is usable.

    Parameters
    ----------
    document
        The problem as read from JSON, format 1.

    Returns
    -------
    list of Fault
        In the order of the document. References are judged only where shapes are right.
    """
    found = Findings()
    if not isinstance(document, dict):
        found.add("", "wrong_type", "A problem is a JSON object.")
        return found.faults
    found.shape(document, "", shapes.PROBLEM)
    if isinstance(document.get("costs"), dict):
        found.shape(document["costs"], "/costs", shapes.COSTS)
    statuses = _words(found, document.get("statuses"), "/statuses")
    places = _records(found, document, "places", shapes.PLACE)
    jobs = _records(found, document, "jobs", shapes.JOB)
    destinations = _records(found, document, "destinations", shapes.DESTINATION)
    vehicles = _records(found, document, "vehicles", shapes.VEHICLE)
    _geometry(found, document, places)
    for index, job in jobs.values():
        _job(
            found,
            job,
            f"/jobs/{index}",
            statuses=statuses,
            places=places,
            destinations=destinations,
        )
    for index, destination in destinations.values():
        at = f"/destinations/{index}"
        found.known(destination.get("place"), f"{at}/place", places, "place")
        for word in _words(found, destination.get("accepts"), f"{at}/accepts"):
            found.known(word, f"{at}/accepts", statuses, "status")
        _until(found, destination, at, statuses)
        _span(found, destination, "open_s", "close_s", at)
        _pause(found, destination, at)
    carried: dict[str, str] = {}
    for index, vehicle in vehicles.values():
        at = f"/vehicles/{index}"
        _vehicle(found, vehicle, at, statuses=statuses, places=places, jobs=jobs)
        _job_list(found, vehicle, at, jobs, carried)
        _done(found, vehicle, at, jobs, destinations)
        _locked(found, vehicle, at, destinations)
    if isinstance(document.get("vehicles"), list):
        for name, (index, _) in jobs.items():
            if name not in carried:
                found.add(
                    f"/jobs/{index}/id", "not_carried", "No vehicle has this job on its list."
                )
    return found.faults


Indexed = dict[str, tuple[int, dict[str, Any]]]


def _records(
    found: Findings, document: dict[str, Any], key: str, rules: Mapping[str, shapes.Rule]
) -> Indexed:
    """Judge the shape of every record of a list, and return those with an id of their own."""
    records: Indexed = {}
    values = document.get(key)
    if not isinstance(values, list):
        return records
    for index, value in enumerate(values):
        at = f"/{key}/{index}"
        found.shape(value, at, rules)
        if not isinstance(value, dict) or not isinstance(value.get("id"), str):
            continue
        if value["id"] in records:
            found.add(f"{at}/id", "repeated_id", f"{value['id']!r} is used twice in {key}.")
        else:
            records[value["id"]] = (index, value)
    return records


def _words(found: Findings, values: object, pointer: str) -> list[str]:
    """Judge a list of texts, each once."""
    if not isinstance(values, list):
        return []
    words: list[str] = []
    for index, value in enumerate(values):
        if not isinstance(value, str) or not value:
            found.add(f"{pointer}/{index}", "wrong_type", "This must be a text that is not empty.")
        elif value in words:
            found.add(f"{pointer}/{index}", "repeated", f"{value!r} stands here twice.")
        else:
            words.append(value)
    return words


def _geometry(found: Findings, document: dict[str, Any], places: Indexed) -> None:
    """Places need one kind of coordinates, or the matrix must be complete."""
    matrix = document.get("matrix")
    if isinstance(matrix, dict):
        if not found.shape(matrix, "/matrix", shapes.MATRIX):
            return
        count = len(document["places"]) if isinstance(document.get("places"), list) else 0
        for key in shapes.MATRIX:
            _square(found, matrix[key], f"/matrix/{key}", count)
        return
    flat = [name for name, (_, p) in places.items() if "x_m" in p and "y_m" in p]
    round_ = [name for name, (_, p) in places.items() if "lat" in p and "lon" in p]
    wanted = ("x_m", "y_m") if len(flat) >= len(round_) else ("lat", "lon")
    for index, place in places.values():
        if not all(key in place for key in wanted):
            found.add(
                f"/places/{index}",
                "no_coordinates",
                f"Without a matrix every place needs {wanted[0]} and {wanted[1]}.",
            )


def _square(found: Findings, rows: list[Any], pointer: str, count: int) -> None:
    """Judge a matrix: a row and a column for every place, whole numbers, a diagonal of zeros."""
    if len(rows) != count:
        found.add(pointer, "wrong_size", f"{len(rows)} rows for {count} places.")
    for index, row in enumerate(rows):
        at = f"{pointer}/{index}"
        if not isinstance(row, list) or len(row) != count:
            found.add(at, "wrong_size", f"A row needs {count} numbers, one for every place.")
            continue
        for column, value in enumerate(row):
            if type(value) is not int or not 0 <= value <= shapes.MOST:
                found.add(f"{at}/{column}", "wrong_type", "This must be a whole number, 0 or more.")
            elif index == column and value:
                found.add(f"{at}/{column}", "not_zero", "From a place to itself the way is 0.")


def _job(
    found: Findings,
    job: dict[str, Any],
    at: str,
    *,
    statuses: list[str],
    places: Indexed,
    destinations: Indexed,
) -> None:
    found.known(job.get("place"), f"{at}/place", places, "place")
    found.known(job.get("status"), f"{at}/status", statuses, "status")
    window = job.get("window_s")
    if isinstance(window, list):
        limits = [w for w in window if type(w) is int and 0 <= w <= 2 * shapes.DAY_S]
        if len(window) != _PAIR or len(limits) != _PAIR:
            found.add(f"{at}/window_s", "wrong_type", "Two times in seconds, first and last.")
        elif limits[0] > limits[1]:
            found.add(f"{at}/window_s", "reversed", "The window ends before it starts.")
    refused = job.get("refused_destinations")
    if isinstance(refused, dict):
        for name, code in refused.items():
            step = f"{at}/refused_destinations/{escaped(name)}"
            found.known(name, step, destinations, "destination")
            if not isinstance(code, str) or not code:
                found.add(step, "wrong_type", "A refusal needs its code, a text.")
    for of in ("mass_kg", "volume_l"):
        other = "volume_l" if of == "mass_kg" else "mass_kg"
        if job.get(of) == 0 and type(job.get(other)) is int and job[other] > 0:
            found.add(f"{at}/{of}", "contradiction", f"0 here contradicts {other}.")


def _until(found: Findings, destination: dict[str, Any], at: str, statuses: list[str]) -> None:
    until = destination.get("accepts_until_s")
    for word, last_s in until.items() if isinstance(until, dict) else ():
        step = f"{at}/accepts_until_s/{escaped(word)}"
        found.known(word, step, statuses, "status")
        if type(last_s) is not int or not 0 <= last_s <= 2 * shapes.DAY_S:
            found.add(step, "wrong_type", "A time in whole seconds of the day.")


def _vehicle(
    found: Findings,
    vehicle: dict[str, Any],
    at: str,
    *,
    statuses: list[str],
    places: Indexed,
    jobs: Indexed,
) -> None:
    for key in ("start_place", "end_place"):
        found.known(vehicle.get(key), f"{at}/{key}", places, "place")
    _span(found, vehicle, "shift_start_s", "shift_end_s", at)
    for index, part in enumerate(_listed(vehicle.get("aboard"))):
        if found.shape(part, f"{at}/aboard/{index}", shapes.ABOARD):
            found.known(part["status"], f"{at}/aboard/{index}/status", statuses, "status")
            found.known(part.get("job"), f"{at}/aboard/{index}/job", jobs, "job")


def _job_list(
    found: Findings, vehicle: dict[str, Any], at: str, jobs: Indexed, carried: dict[str, str]
) -> None:
    """Each job is on one list, once, and fits the empty vehicle."""
    for index, name in enumerate(_listed(vehicle.get("jobs"))):
        step = f"{at}/jobs/{index}"
        if not isinstance(name, str):
            found.add(step, "wrong_type", "This must be the id of a job.")
            continue
        found.known(name, step, jobs, "job")
        if name in carried:
            found.add(step, "repeated", f"Job {name!r} is on the list of {carried[name]} too.")
        carried.setdefault(name, str(vehicle.get("id")))
        _, job = jobs.get(name, (0, {}))
        for of, limit in (("mass_kg", "payload_kg"), ("volume_l", "body_l")):
            known = type(job.get(of)) is int and type(vehicle.get(limit)) is int
            if known and job[of] > vehicle[limit]:
                found.add(
                    step,
                    "does_not_fit",
                    f"The {of} {job[of]} of {name!r} is above the {limit} {vehicle[limit]}.",
                )


def _done(
    found: Findings, vehicle: dict[str, Any], at: str, jobs: Indexed, destinations: Indexed
) -> None:
    """Done jobs are the first of the list; times never run backwards."""
    clock, position = 0, 0
    order = _listed(vehicle.get("jobs"))
    for index, stop in enumerate(_listed(vehicle.get("done"))):
        step = f"{at}/done/{index}"
        is_job = isinstance(stop, dict) and "job" in stop
        if not found.shape(stop, step, shapes.DONE_JOB if is_job else shapes.DONE_TIP):
            continue
        if is_job:
            found.known(stop["job"], f"{step}/job", jobs, "job")
            if position >= len(order) or order[position] != stop["job"]:
                found.add(f"{step}/job", "out_of_order", "Done jobs must be the first of the list.")
            position += 1
        else:
            found.known(stop["destination"], f"{step}/destination", destinations, "destination")
        leave = stop.get("leave_s", stop["arrive_s"])
        if stop["arrive_s"] < clock or leave < stop["arrive_s"]:
            found.add(f"{step}/arrive_s", "reversed", "Times of done stops run backwards.")
        clock = max(clock, leave)


def _locked(found: Findings, vehicle: dict[str, Any], at: str, destinations: Indexed) -> None:
    """Judge locked tips: each after a job of this vehicle that is still open to tips."""
    order = _listed(vehicle.get("jobs"))
    done = [s for s in _listed(vehicle.get("done")) if isinstance(s, dict) and "job" in s]
    for index, lock in enumerate(_listed(vehicle.get("locked"))):
        step = f"{at}/locked/{index}"
        if not found.shape(lock, step, shapes.LOCKED):
            continue
        found.known(lock["destination"], f"{step}/destination", destinations, "destination")
        after = lock.get("after_job")
        if after is not None and after not in order:
            found.add(f"{step}/after_job", "unknown_id", "This job is not on the vehicle's list.")
        elif (-1 if after is None else order.index(after)) < len(done) - 1:
            found.add(f"{step}/after_job", "already_done", "This part of the day is done.")


def _span(found: Findings, record: dict[str, Any], first: str, last: str, at: str) -> None:
    start, end = record.get(first), record.get(last)
    if type(start) is int and type(end) is int and start > end:
        found.add(f"{at}/{last}", "reversed", f"{last} {end} is before {first} {start}.")


def _pause(found: Findings, destination: dict[str, Any], at: str) -> None:
    """Look that a pause is told by both its ends, and lies within the hours."""
    given = [name for name in ("pause_from_s", "pause_until_s") if name in destination]
    if len(given) == 1:
        missing = ({"pause_from_s", "pause_until_s"} - {*given}).pop()
        found.add(f"{at}/{missing}", "missing", "A pause has a beginning and an end.")
    if given:
        for first, last in itertools.pairwise(("open_s", *given, "close_s")):
            _span(found, destination, first, last, at)


def _listed(value: object) -> list[Any]:
    return value if isinstance(value, list) else []

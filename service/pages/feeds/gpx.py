"""A vehicle's day as GPX 1.1 and as GeoJSON, for whatever shows the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, Final
from xml.etree import ElementTree as Xml

NAMESPACE: Final = "http://www.topografix.com/GPX/1/1"
SCHEMA: Final = "http://www.topografix.com/GPX/1/1/gpx.xsd"
INSTANCE: Final = "http://www.w3.org/2001/XMLSchema-instance"
DECIMALS: Final = 7
DOES: Final = {
    "job": "Mow",
    "pick_up": "Fork over from",
    "load_held": "Load from the bay",
    "drop": "Tip at",
}

Members = Mapping[str, Any]


def gpx_text(name: str, stops: Sequence[Members], *, made_at: datetime) -> str:
    """Return stops as one route, in their order; straight between them, for roads are not known.

    Elements stand in the order that the schema asks for.
    """
    Xml.register_namespace("", NAMESPACE)
    Xml.register_namespace("xsi", INSTANCE)
    root = Xml.Element(
        f"{{{NAMESPACE}}}gpx",
        {
            "version": "1.1",
            "creator": "clipping-dispatch",
            f"{{{INSTANCE}}}schemaLocation": f"{NAMESPACE} {SCHEMA}",
        },
    )
    about = _below(root, "metadata")
    _below(about, "name", name)
    _below(about, "time", _moment(made_at))
    route = _below(root, "rte")
    _below(route, "name", name)
    for stop in stops:
        at = {
            "lat": f"{stop['latitude']:.{DECIMALS}f}",
            "lon": f"{stop['longitude']:.{DECIMALS}f}",
        }
        point = _below(route, "rtept", None, at)
        _below(point, "time", _moment(datetime.fromisoformat(stop["at"])))
        _below(point, "name", stop_name(stop))
        _below(point, "desc", stop_words(stop))
        _below(point, "type", stop["kind"].replace("_", " "))
    Xml.indent(root)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n' + Xml.tostring(root, encoding="unicode") + "\n"
    )


def stop_name(stop: Members) -> str:
    """Return where a stop is."""
    found = stop.get("destination") or stop.get("property") or stop.get("from_registration")
    return _plain(str(found or "The yard"))


def stop_words(stop: Members) -> str:
    """Return when and what is done there, in words."""
    at = datetime.fromisoformat(stop["at"])
    mass = stop.get("mass_kg")
    much = "" if not mass else f", about {mass['likely']:.0f} kg"
    done = " (done)" if stop["done"] else ""
    return _plain(f"{at:%H:%M} {DOES.get(stop['kind'], 'Stop at')} {stop_name(stop)}{much}{done}")


def _below(
    parent: Xml.Element, name: str, text: str | None = None, more: Mapping[str, str] | None = None
) -> Xml.Element:
    found = Xml.SubElement(parent, f"{{{NAMESPACE}}}{name}", dict(more or {}))
    found.text = text
    return found


def _moment(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def _plain(text: str) -> str:
    """Return text without the controls that no XML may hold."""
    return "".join(sign for sign in text if ord(sign) >= ord(" "))

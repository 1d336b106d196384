"""What a firm still has to say before a day can be planned well, where it matters, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from service.core.callers.access import Caller
from service.core.materials import GrassKind
from service.core.permission.consent import ConsentState
from service.core.permission.legal_basis import LegalBasisKind
from service.core.places import Drainage
from service.pages.needs import Needs
from service.pages.setup.doubts import far_off, same_registrations
from service.pages.setup.filing import books_of, every
from service.pages.setup.sheets import SHEETS

# Whose points the places of a book are: lawns lie where their properties do.
PLACES: Final = {"sites": "sites", "lawns": "places", "beds": "beds"}

Books = Mapping[str, Sequence[Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A book on the way to the first planned day: how much is in it, and what is missing."""

    name: str
    title: str
    count: int
    is_needed: bool
    missing: tuple[str, ...]

    @property
    def is_done(self) -> bool:
        """Whether the next step can be taken."""
        return self.count > 0


def steps_of(needs: Needs, caller: Caller) -> tuple[Step, ...]:
    """Return the steps in their order."""
    books: Books = {
        sheet.name: tuple(every(books_of(needs, sheet.repository), caller))
        for sheet in SHEETS.values()
    }
    books = {**books, "places": tuple(every(needs.library.properties, caller))}
    needed = {"yard", "vehicles", "crews", "lawns"}
    return tuple(
        Step(
            name=sheet.name,
            title=sheet.many,
            count=len(books[sheet.name]),
            is_needed=sheet.name in needed,
            missing=tuple(_missing(sheet.name, books)),
        )
        for sheet in SHEETS.values()
    )


def _missing(name: str, books: Books) -> Iterator[str]:
    own = books[name]
    yards = [yard.point for yard in books["yard"]]
    if name in PLACES:
        yield from far_off(books[PLACES[name]], yards)
    if name == "vehicles":
        yield from same_registrations(own)
    if name == "crews":
        yield from _counted(
            [crew for crew in own if crew.vehicle_id is None],
            "has no vehicle, and gets no lawns",
            "have no vehicle, and get no lawns",
        )
    if name == "sites":
        if not own:
            yield "Without a site, what no bed takes waits in the hold or stays on the lawn."
        yield from _counted(
            [site for site in own if not site.hours], "has no hours", "have no hours"
        )
    if name == "bays" and not own:
        yield "Without a bay, clippings that nobody may have yet stay on the lawn."
    if name == "lawns":
        yield from _counted(
            [lawn for lawn in own if lawn.grass_kind is GrassKind.UNKNOWN],
            "does not say which grass it is: its estimates are wider",
            "do not say which grass they are: their estimates are wider",
        )
    if name == "beds":
        yield from _beds(own, is_any=bool(books["lawns"]))


def _beds(beds: Sequence[Any], *, is_any: bool) -> Iterator[str]:
    if not beds and is_any:
        yield "Without beds, everything goes to sites, waits, or stays on the lawn."
    yield from _counted(
        [bed for bed in beds if bed.consent.state is not ConsentState.GIVEN],
        "takes nothing: its client has not agreed",
        "take nothing: their clients have not agreed",
    )
    yield from _counted(
        [bed for bed in beds if bed.legal_basis.kind is LegalBasisKind.NOT_ESTABLISHED],
        "takes nothing: its legal ground is not on record",
        "take nothing: their legal ground is not on record",
    )
    yield from _counted(
        [bed for bed in beds if bed.drainage is Drainage.UNKNOWN],
        "takes nothing: how it drains is not on record",
        "take nothing: how they drain is not on record",
    )
    looked = "whoever lays there is told to look first"
    yield from _counted(
        [bed for bed in beds if bed.animals_beside is None],
        f"does not say whether animals stand at or beside it: {looked}",
        f"do not say whether animals stand at or beside them: {looked}",
    )


def _counted(found: Sequence[Any], one: str, many: str) -> Iterator[str]:
    if found:
        yield f"{len(found)} {one if len(found) == 1 else many}."

"""A form's fields by need: first what every record needs, the rest under titles."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from service.pages.setup.columns import Column


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Fields under a title, of those asked first none.

    ``is_open``: there is something in it. ``said`` stands beside the title of one that is not.
    """

    title: str
    columns: tuple[Column, ...]
    is_open: bool
    said: str


def groups_of(
    columns: Iterable[Column], cells: Mapping[str, str], faulty: Collection[str]
) -> tuple[Group, ...]:
    """Return a form's groups, the first things first, each in the order of the sheet.

    A group is open where it holds a value or a fault; that there is none of something is told
    beside the title. So nothing that is said is hidden.
    """
    found: dict[str, list[Column]] = {"": []}
    for column in columns:
        found.setdefault("" if column.is_first else column.group, []).append(column)
    return tuple(
        Group(
            title=title,
            columns=tuple(some),
            is_open=any(
                cells.get(one.name, "") not in {"", one.nothing} or one.name in faulty
                for one in some
            ),
            said="; ".join(dict.fromkeys(filter(None, (cells.get(one.name) for one in some)))),
        )
        for title, some in found.items()
    )

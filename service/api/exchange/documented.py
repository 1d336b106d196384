"""What a view says of itself to the contract: the attribute flask-smorest reads."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from functools import cached_property
from typing import Any, Final, Self

View = Callable[..., Any]

_ATTRIBUTE: Final = "_apidoc"


class Example(Mapping[str, Any]):
    """An example in the contract: made when somebody reads it, and never copied.

    Every decorator of a view copies what the view says of itself, examples and all.
    """

    def __init__(self, make: Callable[[], Mapping[str, Any]]) -> None:
        """Take how it is made."""
        self._make = make

    @classmethod
    def of(cls, example: Mapping[str, Any]) -> Example:
        """Return an example that is there already."""
        return example if isinstance(example, Example) else cls(lambda: example)

    @cached_property
    def _made(self) -> Mapping[str, Any]:
        return self._make()

    def __getitem__(self, name: str) -> Any:
        """Return a member."""
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        """Yield the members' names."""
        return iter(self._made)

    def __len__(self) -> int:
        """Return how many members there are."""
        return len(self._made)

    def __deepcopy__(self, _memo: dict[int, Any]) -> Self:
        """Return itself."""
        return self


def document_of(view: View) -> dict[str, Any]:
    """Return a copy of what a view says of itself so far."""
    said: dict[str, Any] = deepcopy(getattr(view, _ATTRIBUTE, {}))
    return said


def with_document(view: View, document: dict[str, Any]) -> View:
    """Return the view, saying this of itself."""
    setattr(view, _ATTRIBUTE, document)
    return view

"""What a view says of itself to the contract: the attribute flask-smorest reads."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Any, Final

View = Callable[..., Any]

_ATTRIBUTE: Final = "_apidoc"


def document_of(view: View) -> dict[str, Any]:
    """Return a copy of what a view says of itself so far."""
    said: dict[str, Any] = deepcopy(getattr(view, _ATTRIBUTE, {}))
    return said


def with_document(view: View, document: dict[str, Any]) -> View:
    """Return the view, saying this of itself."""
    setattr(view, _ATTRIBUTE, document)
    return view

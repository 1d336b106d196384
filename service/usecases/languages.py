"""The languages and papers that notes come in."""

from service.documents import LANGUAGES as NOTE_LANGUAGES
from service.documents import PAPERS as NOTE_PAPERS

__all__ = ["NOTE_LANGUAGES", "NOTE_PAPERS"]

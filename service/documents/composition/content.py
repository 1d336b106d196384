"""What a note says, chosen but not yet worded: keys of sentences, and what fills their gaps."""

from dataclasses import dataclass
from enum import StrEnum

from service.documents.composition.drawing import Drawing
from service.documents.facts.note import Acknowledged, NoteFacts, Origin
from service.documents.facts.values import Value


class Tone(StrEnum):
    """How loud a sentence is; shown by a word and a shape, never by colour alone."""

    PLAIN = "plain"
    CARE = "care"
    STOP = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One whole sentence of a language file.

    Parameters
    ----------
    key
        Key of the sentence in every language file.
    gaps
        What fills the sentence's gaps: pairs of name and value, sorted by name.
    tone
        How loud it is.
    """

    key: str
    gaps: tuple[tuple[str, Value], ...] = ()
    tone: Tone = Tone.PLAIN


def line(key: str, /, *, tone: Tone = Tone.PLAIN, **gaps: Value) -> Line:
    """Return a line; the gaps are its keyword arguments."""
    return Line(key=key, gaps=tuple(sorted(gaps.items())), tone=tone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Sentences, as loud together as the loudest of them."""

    lines: tuple[Line, ...]

    @property
    def tone(self) -> Tone:
        """The loudest tone of the lines."""
        order = list(Tone)
        return max((found.tone for found in self.lines), key=order.index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer(Lines):
    """One question a client has at the door, and its answer.

    Parameters
    ----------
    question
        Name of the question: a key under ``question`` in the language files.
    lines
        The answer, the first line first in weight.
    """

    question: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading, and steps in order or points in none."""

    heading: str
    lines: tuple[Line, ...]
    in_order: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginLines(Lines):
    """A lot, and the sentences its records and its looks call for."""

    origin: Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteContent:
    """The note in no language: facts, and the sentences they call for.

    Parameters
    ----------
    facts
        What the note was composed from.
    answers
        The questions at the door, in the order they are asked.
    origins
        The lots, loudest first; lots of one tone by code.
    sections
        Steps and points, in reading order.
    changes
        What changed since the version before; empty in a first version.
    standing
        Sentences about the note itself.
    drawing
        The layers, to scale.
    choices
        What the person at the place can answer.
    """

    facts: NoteFacts
    answers: tuple[Answer, ...]
    origins: tuple[OriginLines, ...]
    sections: tuple[Section, ...]
    changes: tuple[Line, ...]
    standing: tuple[Line, ...]
    drawing: Drawing
    choices: tuple[Acknowledged, ...]

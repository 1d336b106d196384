"""A note in words: what every kind of page is set from."""

from dataclasses import dataclass

from service.documents.composition.drawing import DrawnWords


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A text, and how loud it is: plain, care or stop."""

    text: str
    tone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A label and what stands beside it."""

    label: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedAnswer:
    """A question at the door and its answer."""

    key: str
    question: str
    tone: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedOrigin:
    """One lot."""

    lot: str
    locality: str
    cut: str
    age: str
    tone: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedSection:
    """A heading with its steps or points."""

    key: str
    heading: str
    in_order: bool
    lines: tuple[Words, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A value that a form sends, and its text."""

    value: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WordedNote:
    """The whole note in one language."""

    language: str
    title: str
    page_title: str
    number: str
    version: str
    issued: str
    sender_name: str
    sender_address: str
    sender_phone: str
    parties: tuple[tuple[Row, ...], ...]
    answers: tuple[WordedAnswer, ...]
    origins: tuple[WordedOrigin, ...]
    sections: tuple[WordedSection, ...]
    changes: tuple[str, ...]
    standing: tuple[str, ...]
    drawing: DrawnWords
    drawing_alt: str
    choices: tuple[Choice, ...]
    sources: str
    label: dict[str, str]
    form: dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How much fits of what has no natural end.

    Parameters
    ----------
    longest_text
        Letters of one text that people wrote.
    longest_list
        Names in one list.
    most_origins
        Lots that are described one by one.
    """

    longest_text: int
    longest_list: int
    most_origins: int

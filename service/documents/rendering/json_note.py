"""The note as JSON: the facts, the sentences they call for, and the words if asked."""

import json
from dataclasses import asdict

from service.documents.composition.content import Answer, Line, NoteContent, OriginLines, Section
from service.documents.facts.record import as_json, facts_as_json
from service.documents.rendering.formats import display_units
from service.documents.rendering.language import language as language_of
from service.documents.rendering.words import put_into_words


def render_json(
    content: NoteContent, *, language: str | None = None, units: str = "metric"
) -> bytes:
    """Return the note as UTF-8 JSON with keys in a fixed order.

    Parameters
    ----------
    content
        The composed note.
    language
        ISO 639-1 code to add the note's words in; None leaves them out.
    units
        One of `UNITS`, for the words; the facts stay in SI.

    Raises
    ------
    LanguageUnknown, DisplayUnitsUnknown
        If asked for what there is not.
    """
    record: dict[str, object] = {
        "facts": facts_as_json(content.facts),
        "answers": [_answer(answer) for answer in content.answers],
        "origins": [_origin(origin) for origin in content.origins],
        "sections": [_section(section) for section in content.sections],
        "changes": [_line(found) for found in content.changes],
        "standing": [_line(found) for found in content.standing],
        "acknowledgement_choices": list(content.choices),
    }
    if language is not None:
        words = put_into_words(content, language=language_of(language), units=display_units(units))
        record["words"] = asdict(words)
    # Half a character of user text cannot be written; a question mark stands for it.
    return json.dumps(record, ensure_ascii=False, indent=2).encode("utf-8", errors="replace")


def _line(found: Line) -> dict[str, object]:
    return {
        "key": found.key,
        "tone": found.tone,
        "gaps": {name: as_json(value) for name, value in found.gaps},
    }


def _answer(answer: Answer) -> dict[str, object]:
    return {
        "question": answer.question,
        "tone": answer.tone,
        "lines": [_line(found) for found in answer.lines],
    }


def _origin(found: OriginLines) -> dict[str, object]:
    return {
        "lot_code": found.origin.lot_code,
        "tone": found.tone,
        "lines": [_line(line) for line in found.lines],
    }


def _section(section: Section) -> dict[str, object]:
    return {
        "heading": section.heading,
        "in_order": section.in_order,
        "lines": [_line(found) for found in section.lines],
    }

"""The note in words: every text of one language, in reading order, for any kind of page."""

from dataclasses import dataclass, replace
from typing import Final

from service.documents.composition.content import Line, NoteContent, OriginLines, Section
from service.documents.composition.drawing import DrawnLayer, DrawnWords
from service.documents.facts.values import Listed, Quantity, Rounding, Unit, Value
from service.documents.rendering.drawing_words import (
    Choice,
    Room,
    Row,
    WordedAnswer,
    WordedNote,
    WordedOrigin,
    WordedSection,
    Words,
)
from service.documents.rendering.formats import DisplayUnits, show
from service.documents.rendering.language import Language
from service.documents.rendering.plain_text import fewer, plain, shortened
from service.rules.sources import cited

REFUSAL_REASONS: Final = (
    "too_much",
    "smells",
    "wet",
    "litter",
    "wrong_place",
    "not_ordered",
    "treated_or_unknown",
    "animals",
    "seed",
    "access",
    "changed_mind",
    "not_as_described",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """One language and one choice of display units, applied to the parts of a note.

    Parameters
    ----------
    language, units
        What the reader reads.
    room
        How much there is room for; None if there is room for all.
    """

    language: Language
    units: DisplayUnits
    room: Room | None

    def text(self, text: str) -> str:
        """Return user text on one line, cut to the room there is."""
        on_one_line = plain(text)
        if self.room is None:
            return on_one_line
        return shortened(on_one_line, letters=self.room.longest_text)

    def value(self, value: Value) -> str:
        """Return a value as the reader writes it."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, Listed):
            names = tuple(self.text(name) for name in value.names)
            fitting = fewer(names, most=self.room.longest_list) if self.room else names
            value = replace(value, names=fitting)
        return show(value, language=self.language, units=self.units)

    def line(self, found: Line) -> str:
        """Return a line as a whole sentence."""
        gaps = {name: self.value(value) for name, value in found.gaps}
        return self.language.sentence(found.key, **gaps)

    def label(self, name: str) -> str:
        """Return a label."""
        return self.language.sentences[f"label.{name}"]

    def group(self, prefix: str) -> dict[str, str]:
        """Return the texts of one table of the language file by their last key."""
        start = f"{prefix}."
        return {
            key.removeprefix(start): text
            for key, text in self.language.sentences.items()
            if key.startswith(start)
        }

    def section(self, section: Section) -> WordedSection:
        """Return a section in words."""
        return WordedSection(
            key=section.heading,
            heading=self.language.sentences[f"heading.{section.heading}"],
            in_order=section.in_order,
            lines=tuple(Words(text=self.line(line), tone=line.tone) for line in section.lines),
        )

    def origin(self, found: OriginLines) -> WordedOrigin:
        """Return a lot in words."""
        origin = found.origin
        age = Quantity(value=origin.age_hours, unit=Unit.HOUR, rounding=Rounding.AT_LEAST)
        return WordedOrigin(
            lot=self.text(origin.lot_code),
            locality=self.text(origin.locality),
            cut=self.value(origin.cut_at),
            age=self.value(age),
            tone=found.tone,
            lines=tuple(self.line(line) for line in found.lines),
        )

    def drawn(self, layer: DrawnLayer) -> str:
        """Return the label of a layer of the drawing."""
        name = "clippings" if layer.material is None else layer.material.value
        rounding = Rounding.AT_MOST if layer.material is None else Rounding.ABOUT
        depth = Quantity(value=layer.depth_mm, unit=Unit.MILLIMETRE, rounding=rounding)
        return self.language.sentence(f"layer.{name}", depth=self.value(depth))


def put_into_words(
    content: NoteContent,
    *,
    language: Language,
    units: DisplayUnits,
    room: Room | None = None,
) -> WordedNote:
    """Return a note in words.

    Parameters
    ----------
    content
        The note in no language.
    language, units
        What the reader reads.
    room
        How much there is room for; None if there is room for all.
    """
    wording = Wording(language=language, units=units, room=room)
    facts = content.facts
    drawing = _drawing_words(content, wording)
    return WordedNote(
        language=language.code,
        title=language.sentences["title.note"],
        page_title=language.sentence(
            "title.page", number=wording.text(facts.number), version=str(facts.version)
        ),
        number=wording.text(facts.number),
        version=str(facts.version),
        issued=wording.value(facts.issued_at),
        sender_name=wording.text(facts.sender.name),
        sender_address=wording.text(facts.sender.address),
        sender_phone=wording.text(facts.sender.phone),
        parties=_parties(content, wording),
        answers=tuple(
            WordedAnswer(
                key=answer.question,
                question=language.sentences[f"question.{answer.question}"],
                tone=answer.tone,
                lines=tuple(wording.line(line) for line in answer.lines),
            )
            for answer in content.answers
        ),
        origins=tuple(wording.origin(origin) for origin in content.origins),
        sections=tuple(wording.section(section) for section in content.sections),
        changes=tuple(wording.line(line) for line in content.changes),
        standing=tuple(wording.line(line) for line in content.standing),
        drawing=drawing,
        drawing_alt=language.sentence(
            "label.drawing_alt",
            layers=language.sentences["format.list_mark"].join(drawing.layers),
            gap=drawing.stem_gap,
        ),
        choices=tuple(
            Choice(value=choice, text=language.sentences[f"acknowledged.{choice}"])
            for choice in content.choices
        ),
        sources=_sources(cited(facts.sources), wording),
        label=wording.group("label"),
        form=wording.group("form"),
    )


def _sources(names: tuple[str, ...], wording: Wording) -> str:
    """Return the sources of a note's numbers; where there is no room for all, that and how many."""
    room = wording.room
    if room is None or len(names) <= room.longest_list:
        return wording.value(Listed(names=names, mark="; "))
    shown = "; ".join(wording.text(name) for name in names[: room.longest_list])
    return wording.language.sentence("format.cut_list", names=shown, count=str(len(names)))


def refusal_reasons(language: Language) -> tuple[Choice, ...]:
    """Return the reasons a load can be refused for, in words."""
    return tuple(
        Choice(value=reason, text=language.sentences[f"reason.{reason}"])
        for reason in REFUSAL_REASONS
    )


def _drawing_words(content: NoteContent, wording: Wording) -> DrawnWords:
    gap = Quantity(
        value=content.drawing.stem_gap_mm, unit=Unit.MILLIMETRE, rounding=Rounding.AT_LEAST
    )
    return DrawnWords(
        layers=tuple(wording.drawn(layer) for layer in content.drawing.layers),
        stem_gap=wording.language.sentence("layer.gap", distance=wording.value(gap)),
    )


def _parties(content: NoteContent, wording: Wording) -> tuple[tuple[Row, ...], ...]:
    facts = content.facts
    receiver, carrier = facts.receiver, facts.carrier
    signers = wording.value(Listed(names=receiver.may_sign))
    to = [Row(label=wording.label("to"), text=wording.text(receiver.name))]
    to.append(Row(label=wording.label("place"), text=wording.text(receiver.place)))
    access = [Row(label=wording.label("access"), text=wording.text(receiver.access_notes))]
    access.append(
        Row(label=wording.label("may_sign"), text=signers or wording.label("client_only"))
    )
    by = [
        Row(label=wording.label("by"), text=wording.text(carrier.crew)),
        Row(label=wording.label("vehicle"), text=wording.text(carrier.vehicle_registration)),
        Row(label=wording.label("working_day"), text=wording.value(facts.working_day)),
    ]
    if carrier.carrier_registration is not None:
        by.append(
            Row(
                label=wording.label("carrier_registration"),
                text=wording.text(carrier.carrier_registration),
            )
        )
    return tuple(tuple(row for row in rows if row.text) for rows in (to, access, by))

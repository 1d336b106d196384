"""What the documents refuse: facts that contradict themselves, an unknown language or paper."""

from service.core.errors import Refusal


class NoteFactNotUsable(Refusal):
    """A fact of the note is missing, out of range or at odds with another."""

    code = "note_fact_not_usable"
    sentence = "{field} is {value}; it must be {allowed}."


class LanguageUnknown(Refusal):
    """No language file has this code."""

    code = "language_unknown"
    sentence = "There is no delivery note in the language {language}. Ask for one of: {allowed}."


class PaperUnknown(Refusal):
    """The note is not laid out for this paper."""

    code = "paper_unknown"
    sentence = "The delivery note is not laid out for the paper {paper}. Ask for one of: {allowed}."


class DisplayUnitsUnknown(Refusal):
    """Quantities can be shown in metric or in US customary units, and in no others."""

    code = "display_units_unknown"
    sentence = "Quantities cannot be shown in the units {units}. Ask for one of: {allowed}."


class NoteNotPrintable(Refusal):
    """The note does not fit on its one page, even with the smallest readable letters."""

    code = "note_not_printable"
    sentence = "The delivery note {number} cannot be printed on {paper}: {reason}."


class NoteRecordNotReadable(Refusal):
    """A kept note cannot be read back."""

    code = "note_record_not_readable"
    sentence = "The kept delivery note cannot be read: {reason}."

"""Delivery notes: the facts first, then the words, then the bytes."""

from service.documents.composition.compose import compose
from service.documents.composition.content import NoteContent
from service.documents.facts.bed import (
    Animal,
    BedFacts,
    BindingLimit,
    Browns,
    Drainage,
    DryLayer,
    DryMaterial,
    Guidance,
    KeepOff,
    Wilting,
)
from service.documents.facts.note import (
    Acknowledged,
    Amount,
    Carrier,
    Change,
    EstimateBasis,
    Finding,
    Material,
    NoteFacts,
    Origin,
    Receiver,
    Replaced,
    Sender,
    Treatment,
    Weighing,
)
from service.documents.facts.practice import CUSTOMARY, CustomaryPractice
from service.documents.facts.record import facts_as_json, facts_from_json, fingerprint
from service.documents.facts.values import (
    Listed,
    LotStatement,
    LotStatements,
    Named,
    Quantity,
    Rounding,
    TreatmentOnRecord,
    Unit,
    Value,
)
from service.documents.rendering.answer_words import Acknowledgement, FormFault, Unkept
from service.documents.rendering.crew_words import CREW_WORDS, crew_sentence
from service.documents.rendering.formats import UNITS
from service.documents.rendering.further_words import Said, StandingWord
from service.documents.rendering.html_note import content_security_policy, render_html
from service.documents.rendering.json_note import render_json
from service.documents.rendering.language import LANGUAGES, unread_languages
from service.documents.rendering.link_page import NoNote, render_link_page
from service.documents.rendering.pdf_note import PAPERS, render_pdf
from service.documents.rendering.reader import Reader
from service.documents.rendering.told_words import told_sentence
from service.documents.rendering.words import REASONS

__all__ = [
    "CREW_WORDS",
    "CUSTOMARY",
    "LANGUAGES",
    "PAPERS",
    "REASONS",
    "UNITS",
    "Acknowledged",
    "Acknowledgement",
    "Amount",
    "Animal",
    "BedFacts",
    "BindingLimit",
    "Browns",
    "Carrier",
    "Change",
    "CustomaryPractice",
    "Drainage",
    "DryLayer",
    "DryMaterial",
    "EstimateBasis",
    "Finding",
    "FormFault",
    "Guidance",
    "KeepOff",
    "Listed",
    "LotStatement",
    "LotStatements",
    "Material",
    "Named",
    "NoNote",
    "NoteContent",
    "NoteFacts",
    "Origin",
    "Quantity",
    "Reader",
    "Receiver",
    "Replaced",
    "Rounding",
    "Said",
    "Sender",
    "StandingWord",
    "Treatment",
    "TreatmentOnRecord",
    "Unit",
    "Unkept",
    "Value",
    "Weighing",
    "Wilting",
    "compose",
    "content_security_policy",
    "crew_sentence",
    "facts_as_json",
    "facts_from_json",
    "fingerprint",
    "render_html",
    "render_json",
    "render_link_page",
    "render_pdf",
    "told_sentence",
    "unread_languages",
]

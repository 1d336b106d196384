"""From the facts of a note to its sentences: which apply to this load on this bed."""

from collections.abc import Iterable
from dataclasses import replace

from service.documents.composition.advice import (
    cautions,
    damage_steps,
    keep_off,
    sour_steps,
    spread_steps,
    too_much_steps,
)
from service.documents.composition.answers import answers, called_back_steps, may_have_none
from service.documents.composition.content import (
    Line,
    NoteContent,
    OriginLines,
    Section,
    Tone,
    line,
)
from service.documents.composition.drawing import draw
from service.documents.facts.note import Acknowledged, Change, Finding, NoteFacts, Origin, Treatment
from service.documents.facts.values import Listed, Named


def compose(facts: NoteFacts) -> NoteContent:
    """Return the sentences that apply to these facts. Pure: same facts, same note.

    Parameters
    ----------
    facts
        The facts of one version of one note.

    Returns
    -------
    NoteContent
        Keys and gaps, in no language.
    """
    return NoteContent(
        facts=facts,
        answers=answers(facts),
        origins=_loudest_first(_origin_lines(origin) for origin in facts.origins),
        sections=_sections(facts),
        changes=tuple(_changes(facts)),
        standing=tuple(_standing(facts)),
        drawing=draw(facts.guidance),
        choices=tuple(Acknowledged),
    )


def _sections(facts: NoteFacts) -> tuple[Section, ...]:
    careful = Section(heading="cautions", lines=tuple(cautions(facts)))
    if facts.called_back:
        steps = tuple(called_back_steps(facts))
        return (Section(heading="called_back", lines=steps, in_order=True), careful)
    found = {"too_much": tuple(too_much_steps(facts))} | (
        {} if may_have_none(facts) else {"spread": tuple(spread_steps(facts))}
    )
    return (
        *(
            Section(heading=heading, lines=lines, in_order=True)
            for heading, lines in found.items()
            if lines
        ),
        Section(heading="keep_off", lines=tuple(keep_off(facts))),
        careful,
        Section(heading="sour", lines=tuple(sour_steps(facts)), in_order=True),
        Section(heading="damage", lines=tuple(damage_steps(facts)), in_order=True),
    )


def _loudest_first(found: Iterable[OriginLines]) -> tuple[OriginLines, ...]:
    order = list(Tone)
    return tuple(sorted(found, key=lambda lines: (-order.index(lines.tone), lines.origin.lot_code)))


def _origin_lines(origin: Origin) -> OriginLines:
    lines = list(_treatment_lines(origin))
    if Finding.WEEDS_IN_SEED in origin.findings:
        lines.append(line("finding.weeds_in_seed", tone=Tone.CARE))
    if Finding.DISEASE in origin.findings:
        lines.append(line("finding.disease", tone=Tone.CARE))
    return OriginLines(origin=origin, lines=tuple(lines))


def _treatment_lines(origin: Origin) -> Iterable[Line]:
    """Yield what is on record: what was put on at another time is another sentence."""
    if not origin.treatments:
        yield _treatment_line(origin)
    for one in origin.treatments:
        state = Treatment.RECORDED_AND_CLEAR if one.is_over else Treatment.RECORDED_AND_WAITING
        yield _treatment_line(
            replace(
                origin,
                treatment=state,
                active_ingredients=one.active_ingredients,
                treated_on=one.treated_on,
                wait_ends_on=one.wait_ends_on,
                rule=one.rule,
            )
        )


def _treatment_line(origin: Origin) -> Line:
    if origin.treatment is Treatment.NONE_RECORDED:
        return line("treatment.none_recorded", read_on=origin.records_read_on)
    if origin.treatment is Treatment.NOT_KNOWN or origin.treated_on is None or origin.rule is None:
        return line("treatment.not_known", read_on=origin.records_read_on, tone=Tone.STOP)
    ingredients = Listed(names=origin.active_ingredients)
    if origin.wait_ends_on is None:
        return line(
            "treatment.waiting_without_end",
            ingredients=ingredients,
            treated_on=origin.treated_on,
            rule=origin.rule,
            tone=Tone.STOP,
        )
    cleared = origin.treatment is Treatment.RECORDED_AND_CLEAR
    return line(
        "treatment.recorded_and_clear" if cleared else "treatment.recorded_and_waiting",
        ingredients=ingredients,
        treated_on=origin.treated_on,
        rule=origin.rule,
        ends_on=origin.wait_ends_on,
        tone=Tone.CARE if cleared else Tone.STOP,
    )


def _changes(facts: NoteFacts) -> Iterable[Line]:
    if facts.replaces is not None:
        for change in facts.replaces.changes:
            yield _change_line(change)


def _change_line(change: Change) -> Line:
    return line(
        "change.was_and_is",
        field=Named(key=f"field.{change.field}"),
        old=change.old,
        new=change.new,
    )


def _standing(facts: NoteFacts) -> Iterable[Line]:
    if facts.replaces is not None:
        yield line("standing.replaces", version=facts.version, before=facts.replaces.version)
    if facts.waste_code is not None:
        yield line("standing.waste_code", code=facts.waste_code)
    if facts.legal_basis is not None and facts.legal_basis_until is not None:
        yield line(
            "standing.legal_basis_until", basis=facts.legal_basis, day=facts.legal_basis_until
        )
    elif facts.legal_basis is not None:
        yield line("standing.legal_basis", basis=facts.legal_basis)
    yield line("standing.records_only")
    yield line("standing.recall")

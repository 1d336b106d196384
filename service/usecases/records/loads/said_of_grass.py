"""What was seen in a load where it was brought: its lots count as that from then on.

Whoever sent it away looked into the body, and whoever recorded the cut did not see it there. What
is on record of the lot stays as it is; what was said stands beside it, and the worse acts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from service.core.errors import Refusal
from service.core.jobs import Job, LotFinding
from service.core.loads import Load
from service.core.materials import LotStatus, worst_status
from service.destinations.lots import OWN_WORDS, SAID, STANDING
from service.documents.rendering.reader import refusal_code, refusal_words
from service.rules.lookup import Rulebook
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.use_cases import Stamp
from service.usecases.records.amending import write_over
from service.usecases.records.loads.correct_loads import follow_jobs

# What a word of the lists means for the places to come. Of "weeds or treated grass" the worse:
# which of both it is nobody knows yet.
MEANS: Final[Mapping[str, LotStatus]] = MappingProxyType(
    {
        "litter": LotStatus.LITTERED,
        "seed": LotStatus.WEEDY,
        "smells": LotStatus.SOUR,
        "treated_or_unknown": LotStatus.UNKNOWN,
        "weeds_or_treated": LotStatus.UNKNOWN,
    }
)


class NothingSaid(Refusal):
    """Nobody said anything of these clippings that could be taken back."""

    code = "nothing_was_said"
    sentence = (
        "Nothing was said of {lot} where it was brought, nor did it lie with anything worse: "
        "nothing waits for a decision."
    )


def keep_word(
    unit: UnitOfWork,
    load: Load,
    stamp: Stamp,
    renew_note: RenewNote,
    *,
    said_by: str,
    in_own_words: bool = False,
    rulebook: Rulebook,
) -> Load:
    """Let the lots of a load that was refused be what was seen in it; return it as it is then.

    Parameters
    ----------
    load
        As it was just written.
    said_by
        Who said so: a role, or a name below a note.
    in_own_words
        Whether the place itself wrote it: what is of no list may be of the grass, and nobody knows
        what it means until somebody has asked.
    """
    code = refusal_code(load.refusal_reason)
    is_unclear = in_own_words and code is None
    status = LotStatus.UNKNOWN if is_unclear else MEANS.get(code or "")
    if load.refusal_reason is None or status is None:
        return load
    word = LotFinding(
        status=status,
        code=SAID,
        facts={
            "because": refusal_words(load.refusal_reason),
            "said_by": said_by,
            "at": stamp.now.isoformat(),
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            **({OWN_WORDS: True} if is_unclear else {}),
        },
    )
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    pairs = [
        (job, _with_word(job, word, stamp)) for job in jobs.values() if not _has_word(job, word)
    ]
    why = replace(stamp, reason=f"Said where it was brought: {word.facts['because']}")
    for old, new in pairs:
        write_over(unit, "jobs", old, new, why)
    follow_jobs(unit, pairs, why, renew_note, rulebook=rulebook)
    now = unit.loads.get(load.firm_id, load.id) or load
    worse = replace(now, status=worst_status([now.status, status]))
    if worse == now:
        return now
    # The book knows nothing of a load that was never tipped: what became of its lots passed it by.
    worse = worse.renewed(stamp.now)
    write_over(unit, "loads", now, worse, why)
    return worse


def said_of(job: Job) -> list[LotFinding]:
    """Return what was said of a job's clippings where they were brought."""
    return [finding for finding in job.findings if finding.code == SAID]


def as_meant(job: Job, meant: str) -> tuple[LotFinding, ...]:
    """Return a job's findings with what a place meant that said it in its own words.

    Parameters
    ----------
    meant
        A word of the lists that is of the grass.
    """
    return tuple(
        replace(
            one,
            status=MEANS[meant],
            facts={name: fact for name, fact in one.facts.items() if name != OWN_WORDS},
        )
        if one.code == SAID and one.facts.get(OWN_WORDS)
        else one
        for one in job.findings
    )


def as_recorded(job: Job) -> tuple[LotFinding, ...]:
    """Return a job's findings without what stands beside its record."""
    return tuple(one for one in job.findings if one.code not in STANDING)


def _with_word(job: Job, word: LotFinding, stamp: Stamp) -> Job:
    return replace(
        job, status=worst_status([job.status, word.status]), findings=(*job.findings, word)
    ).renewed(stamp.now)


def _has_word(job: Job, word: LotFinding) -> bool:
    """Return whether the same was said of the same load before."""
    return any(
        (said.status, said.facts["load_id"]) == (word.status, word.facts["load_id"])
        for said in said_of(job)
    )

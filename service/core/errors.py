"""Refusals: what the service says no to, with a stable code and the facts."""

from __future__ import annotations

from typing import ClassVar, Final

# How what happened is kept though a rule speaks against it: by any door, and from the field.
WITH_A_REASON: Final = "send the same again with a Change-Reason, or a report with its reason"


class Refusal(Exception):
    """Base of every refusal: a stable code, a sentence, and the facts.

    A refusal knows nothing of HTTP; the status code is chosen in one table of the
    API. A bug is not a refusal: let it rise.
    """

    code: ClassVar[str] = "refused"
    sentence: ClassVar[str] = "The request was refused."

    def __init__(self, **facts: object) -> None:
        """Keep the facts for the answer and the log line."""
        self.facts = facts
        super().__init__(self.sentence.format(**facts))


class RecordMissing(Refusal):
    """The record does not exist, or belongs to another firm: the answer is the same."""

    code = "record_missing"
    sentence = "There is no {record} with the id {id}."


class NotOnRecord(Refusal):
    """Nothing on record bears the name that was asked for: that is not "nothing was found"."""

    code = "not_on_record"
    sentence = "No such {what} is on record: {written}.{hint}"


class RecordExists(Refusal):
    """A record with this id is already kept."""

    code = "record_exists"
    sentence = "A {record} with the id {id} is already kept, with other content."


class RecordInUse(Refusal):
    """The record is named by others and cannot be deleted."""

    code = "record_in_use"
    sentence = "This {record} is still named by {count} {by}; it cannot be deleted."


class VersionOvertaken(Refusal):
    """Somebody amended the record since the caller read it."""

    code = "version_overtaken"
    sentence = "This {record} is at version {current} now; the change was meant for {expected}."


class FieldFault(Refusal):
    """One faulty field: where it is, what is wrong, what is allowed."""

    code = "field_fault"
    sentence = "{pointer}: {detail}"

    def __init__(self, *, pointer: str, detail: str, code: str = "invalid") -> None:
        """Keep the JSON pointer of the field and a sentence that says what is allowed."""
        self.pointer = pointer
        self.detail = detail
        self.fault_code = code
        super().__init__(pointer=pointer, detail=detail, code=code)


class RecordNotUsable(Refusal):
    """A record contradicts itself or what is already kept; every fault is named at once."""

    code = "record_not_usable"
    sentence = "Fields that cannot be used: {count}; see errors."

    def __init__(self, faults: list[FieldFault]) -> None:
        """Keep the faults; there is at least one."""
        self.faults = tuple(faults)
        super().__init__(count=len(faults))


class RecordsBusy(Refusal):
    """The database gave up a transaction for a rival's sake; nothing of it was kept."""

    code = "records_busy"
    sentence = "Others were writing the same records just now. Nothing was kept; send it again."


class RecordsOutOfReach(Refusal):
    """The database is gone, hangs, is full, or may not be written; nothing was kept."""

    code = "records_out_of_reach"
    sentence = "The records cannot be reached just now. Nothing was kept; send it again later."


class InternalError(Refusal):
    """Something broke in the service; the log knows what."""

    code = "internal_error"
    sentence = "Something broke in the service. Its log has the reason under this request id."


class NotAllowed(Refusal):
    """The key's role does not include this act."""

    code = "not_allowed"
    sentence = (
        "A key with the role {role} may not {act}; one {whose} may. Ask the owner for such a key, "
        "or have it done by somebody who has one."
    )

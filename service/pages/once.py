"""A form that is kept once, however often it is sent."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final
from urllib.parse import urlencode

from flask import request

from service.core.errors import FieldFault, RecordNotUsable
from service.core.records import Identifiers
from service.pages.entrance import Sitting
from service.pages.needs import Needs
from service.usecases.base.idempotency import (
    Answer,
    FirstTryUnfinished,
    KeyReusedForAnotherRequest,
)

KEY: Final = "/key"


def once(
    needs: Needs, sitting: Sitting, key: str, make_answer: Callable[[Identifiers], Answer]
) -> Answer:
    """Return what became of a form, kept once. Raises whatever refuses it."""
    body = urlencode(list(request.form.items(multi=True))).encode()
    try:
        return needs.answer_once(
            sitting.caller,
            key=f"{sitting.session.id} {key}",
            request=body,
            make_answer=make_answer,
            keep_refusals=False,
        )
    except FirstTryUnfinished as refusal:
        raise _form_fault("This form is being kept. Look at the day before you go on.") from refusal
    except KeyReusedForAnotherRequest as refusal:
        detail = "This form was kept already as it was before. Open the page anew for more work."
        raise _form_fault(detail) from refusal


def _form_fault(detail: str) -> RecordNotUsable:
    return RecordNotUsable([FieldFault(pointer=KEY, detail=detail)])

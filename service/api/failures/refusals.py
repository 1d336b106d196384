"""What HTTP itself refuses, before any use case is asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.api.failures.faults import LocatedFault
from service.core.errors import Refusal


class RouteMissing(Refusal):
    """Nothing is served at this address."""

    code = "route_missing"
    sentence = "Nothing is served at this address; /docs lists what is."


class MethodNotAllowed(Refusal):
    """The address is served, but not with this method."""

    code = "method_not_allowed"
    sentence = "This address does not answer {method}; it answers {allowed}."


class NotAcceptable(Refusal):
    """None of the media types asked for is made here."""

    code = "not_acceptable"
    sentence = "This address answers {offered}."


class MediaTypeNotSupported(Refusal):
    """The body is of a media type that is not read here."""

    code = "media_type_not_supported"
    sentence = "The body is sent as {allowed}, in UTF-8."


class BodyTooLarge(Refusal):
    """The body is longer than the service reads."""

    code = "body_too_large"
    sentence = "A body may have up to {limit} bytes; split it into several requests."


class BodyNotJson(Refusal):
    """The body cannot be read as JSON."""

    code = "body_not_json"
    sentence = "The body cannot be read as JSON: {why}."


class RequestNotUsable(Refusal):
    """Fields of the request cannot be used; every fault is named at once."""

    code = "request_not_usable"
    sentence = "Faulty fields: {count}; see errors."

    def __init__(
        self, faults: Sequence[LocatedFault], *, usable: Mapping[str, Any] | None = None
    ) -> None:
        """Keep the faults; there is at least one.

        Parameters
        ----------
        usable
            The fields of the body that can be used, where there are any.
        """
        self.faults = tuple(faults)
        self.usable = dict(usable or {})
        super().__init__(count=len(faults))


class BadRequest(Refusal):
    """The request breaks the rules of HTTP itself."""

    code = "bad_request"
    sentence = "The request cannot be read."


class CredentialsMissing(Refusal):
    """There is no bearer key in the request."""

    code = "credentials_missing"
    sentence = "Send the key of your firm: Authorization: Bearer cd_..."


class CredentialsNotValid(Refusal):
    """The bearer key is not known, was revoked or has ended."""

    code = "credentials_not_valid"
    sentence = "This key is not known, was revoked or has ended."


class KeyOfNobody(Refusal):
    """A crew's key that names no crew: it was made before keys did."""

    code = "key_of_nobody"
    sentence = "This {role} key does not say whose it is; have the owner make one that does."


class PreconditionRequired(Refusal):
    """An amendment says which version it was made for."""

    code = "precondition_required"
    sentence = 'Send If-Match with the ETag of the version you read, such as "3".'

"""What the operator decides: one frozen object, read once from a mapping."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, TypeVar
from urllib.parse import urlsplit

PREFIX: Final = "CLIPPING_"

DATABASE_SCHEMES: Final = ("sqlite", "postgresql+psycopg")
LOG_LEVELS: Final = ("debug", "info", "warning", "error")
LOG_FORMATS: Final = ("json", "console")

# 256 bits is the key length that HMAC-SHA-256 asks for (RFC 2104, section 3: no less than the
# length of the hash). 32 characters hold that only if each is a random byte, so it is the floor.
SIGNING_KEY_CHARACTERS: Final = 32

# A worker that answers nothing for 30 s is restarted by gunicorn (its default `timeout`), so a
# plan has to be stored and answered well before that.
LONGEST_PLAN_SECONDS: Final = 20.0

_Value = TypeVar("_Value")


class SettingsRefused(ValueError):
    """The environment cannot be worked with; it names every wrong key at once.

    Parameters
    ----------
    complaints
        One sentence per key, without the value of any secret.
    """

    def __init__(self, complaints: tuple[str, ...]) -> None:
        self.complaints = complaints
        super().__init__("\n".join(("The settings cannot be used:", *complaints)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The operator's decisions, valid if the object exists.

    Attributes
    ----------
    database_url
        Where the records are kept: ``sqlite:///...`` or ``postgresql+psycopg://...``. May carry a
        password, therefore never shown.
    signing_key
        Secret behind signed links, at least 32 characters; never shown.
    former_signing_keys
        Secrets that signed links before; they still verify, and sign nothing. Never shown.
    public_url
        Base of links and QR codes, without a slash at its end.
    log_level, log_format
        Least level that is written, and how: ``json`` or ``console``.
    clock_tolerance_seconds
        How far ahead of ours a client's clock may be before a cut lies in the future [s].
    max_body_bytes
        Longest request body that is read [byte].
    requests_per_minute, computation_seconds_per_minute
        What one key may ask of one process in a minute, and cost it of a processor [s].
    metrics_key
        What opens ``/metrics``, at least 32 characters; without it there is none. Never shown.
    plan_seconds
        Time the planner may look for a better plan [s].
    """

    database_url: str = field(repr=False)
    signing_key: str = field(repr=False)
    former_signing_keys: tuple[str, ...] = field(repr=False, default=())
    public_url: str = "http://127.0.0.1:8080"
    log_level: str = "info"
    log_format: str = "json"
    clock_tolerance_seconds: int = 300
    max_body_bytes: int = 2 * 1024 * 1024
    plan_seconds: float = 5.0
    requests_per_minute: int = 1200
    computation_seconds_per_minute: float = 40.0
    metrics_key: str | None = field(repr=False, default=None)

    @property
    def signing(self) -> dict[str, Any]:
        """Return what makes and checks signed links, as they are handed it."""
        return {"signing_key": self.signing_key, "former_keys": self.former_signing_keys}

    @classmethod
    def from_env(cls, environment: Mapping[str, str]) -> "Settings":
        """Read the settings from a mapping such as ``os.environ``.

        Parameters
        ----------
        environment
            Names with the prefix ``CLIPPING_`` are read; others are left alone.

        Raises
        ------
        SettingsRefused
            If a required key is missing, a value cannot be used, or a key with our prefix is
            none of ours. Every such key is named.
        """
        complaints: list[str] = []
        values: dict[str, object] = {}
        for name, read in _READERS.items():
            key = PREFIX + name.upper()
            if key not in environment:
                if name in _REQUIRED:
                    complaints.append(f"{key} is missing: {_REQUIRED[name]}.")
                continue
            try:
                values[name] = read(environment[key])
            except ValueError as wrong:
                complaints.append(f"{key} {wrong}.")
        known = {PREFIX + name.upper() for name in _READERS} | _READ_ELSEWHERE
        complaints.extend(
            f"{key} is not a setting; a typing error here would be obeyed by nobody."
            for key in sorted(environment)
            if key.startswith(PREFIX) and key not in known
        )
        if complaints:
            raise SettingsRefused(tuple(complaints))
        return cls(**values)  # type: ignore[arg-type] # each reader returns its field's type


# By the planner, for every process of a machine: where machine code is kept.
_READ_ELSEWHERE: Final = {f"{PREFIX}MACHINE_CODE"}
_REQUIRED: Final = {
    "database_url": "an address such as sqlite:////var/lib/clipping-dispatch/records.sqlite",
    "signing_key": f"a random secret of at least {SIGNING_KEY_CHARACTERS} characters",
}


def _database_url(text: str) -> str:
    scheme, separator, rest = text.partition("://")
    if scheme not in DATABASE_SCHEMES or not separator or not rest.strip("/"):
        raise ValueError("must begin with " + " or ".join(f"{s}://" for s in DATABASE_SCHEMES))
    return text


def _signing_key(text: str) -> str:
    if len(text) < SIGNING_KEY_CHARACTERS:
        raise ValueError(f"must have at least {SIGNING_KEY_CHARACTERS} characters")
    return text


def _former_signing_keys(text: str) -> tuple[str, ...]:
    return tuple(_signing_key(one) for one in text.split())


def _public_url(text: str) -> str:
    parts = urlsplit(text)
    usable = parts.scheme in {"http", "https"} and parts.hostname and "@" not in parts.netloc
    if not usable or parts.query or parts.fragment:
        raise ValueError(
            "must be an absolute http or https address without user, query or fragment"
        )
    return text.rstrip("/")


def _one_of(allowed: tuple[str, ...]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in allowed:
            raise ValueError("must be one of " + ", ".join(allowed))
        return text

    return read


def _number(kind: Callable[[str], _Value], *, low: float, high: float) -> Callable[[str], _Value]:
    """Return a reader of a plain decimal number within [low, high]."""

    def read(text: str) -> _Value:
        allowed = f"must be a plain number from {low:g} to {high:g}"
        if not text.replace(".", "", 1).isdecimal() or not text.isascii():
            raise ValueError(allowed)
        try:
            value = kind(text)
        except ValueError:
            raise ValueError(f"{allowed}, without decimals") from None
        if not low <= float(text) <= high:
            raise ValueError(allowed)
        return value

    return read


# The floors and ceilings are guards against typing errors: common practice, no source.
_READERS: Final[dict[str, Callable[[str], object]]] = {
    "database_url": _database_url,
    "signing_key": _signing_key,
    "former_signing_keys": _former_signing_keys,
    "public_url": _public_url,
    "log_level": _one_of(LOG_LEVELS),
    "log_format": _one_of(LOG_FORMATS),
    "clock_tolerance_seconds": _number(int, low=0, high=86_400),
    "max_body_bytes": _number(int, low=1024, high=64 * 1024 * 1024),
    # Thirty vehicles' telephones that ask every two seconds through one key ask 900 times.
    "requests_per_minute": _number(int, low=10, high=1_000_000),
    "computation_seconds_per_minute": _number(float, low=1, high=100_000),
    "metrics_key": _signing_key,
    "plan_seconds": _number(float, low=0.1, high=LONGEST_PLAN_SECONDS),
}

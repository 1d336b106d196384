"""What a test does itself, also in threads, sees all firms; what it asks an app sees one: `worlds`.

Imported for its effect, by tests and measurements alike.
"""

from contextvars import ContextVar

from service.usecases.base import whose

whose._WHOSE = ContextVar("whose", default=whose.EveryFirm.CALLERS)  # noqa: SLF001 - see above

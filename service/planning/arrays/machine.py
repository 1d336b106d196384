"""Make machine code of plain functions, or find it where it is kept."""

from __future__ import annotations

import pickle
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import numba
from numba.core import event
from numba.core.caching import _Cache
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

import service.planning.arrays.borrowing  # noqa: F401 - tells the compiler what borrowed arrays are
from service.planning.arrays import machine_code

Plain = Callable[..., Any]

# What a failing disk may have made of a kept file; then the function is compiled again.
SPOILT = (pickle.UnpicklingError, EOFError, LookupError, AttributeError, ImportError, TypeError)


def as_machine_code(function: Callable[..., Any], *, inline: bool) -> Callable[..., Any]:
    """Return the function as machine code, made or found when it is called with new types."""
    how: dict[str, Any] = {"error_model": "numpy", "forceinline": inline}
    made: Any = numba.njit(**how)(function)
    made._cache = _Kept(function, how)  # noqa: SLF001 - numba has no other way to hand in a store
    return made  # type: ignore[no-any-return] # numba makes any of its kinds of functions


class _Making(event.Listener):
    """Says which function is being compiled."""

    def __init__(self, say: Callable[[str], None], among: Iterable[tuple[Plain, bool]]) -> None:
        self._say = say
        self._wanted = {function for function, inline in among if not inline}
        self._made: set[Plain] = set()
        self._began_s = time.perf_counter()

    def on_start(self, event: Any) -> None:  # noqa: ANN401 - numba's own, without a type
        """Say what is begun."""
        function = event.data["dispatcher"].py_func
        if function in self._wanted and function not in self._made:
            self._made.add(function)
            seconds = time.perf_counter() - self._began_s
            what = f"{function.__module__.rpartition('.')[2]}: {function.__name__.strip('_')}"
            self._say(f"  {seconds:6.1f} s  {len(self._made):2} of {len(self._wanted)}  {what}")

    def on_end(self, event: Any) -> None:  # noqa: ANN401 - see above
        """Say nothing."""


@contextmanager
def making(say: Callable[[str], None], *, among: Iterable[tuple[Plain, bool]]) -> Iterator[None]:
    """Say which of some functions is being compiled, by seconds and number."""
    listener = _Making(say, among)
    event.register("numba:compile", listener)  # type: ignore[no-untyped-call] # as all of numba
    try:
        yield
    finally:
        event.unregister("numba:compile", listener)  # type: ignore[no-untyped-call] # see above


class _Kept(_Cache):
    """A function's machine code as numba asks for it, one file for each set of argument types."""

    def __init__(self, function: Callable[..., Any], how: dict[str, Any]) -> None:
        self._module = function.__module__
        self._how = repr(sorted(how.items()))
        self._name = f"{function.__module__.rpartition('.')[2]}.{function.__qualname__}"

    @property
    def cache_path(self) -> str:
        """Return where it is written."""
        return str(machine_code.writable_folder())

    def name(self, types: object, target: Any) -> str:  # noqa: ANN401 - numba's own, without a type
        """Return the file's name: what the code is made from, the processor, the argument types."""
        source = machine_code.digest_of_module(self._module)
        made_for = repr((types, target.codegen().magic_tuple()))
        by = machine_code.tools()
        digest = machine_code.digest_of(self._name, self._how, source, by, made_for)
        return f"{self._name}-{digest}.code"

    def load_overload(self, sig: object, target_context: Any) -> CompileResult | None:  # noqa: ANN401 - see above
        """Return what was kept for these argument types; None if there is nothing."""
        target_context.refresh()
        found = machine_code.read(self.name(sig, target_context))
        if found is None:
            return None
        try:
            parts = pickle.loads(found)  # noqa: S301 - see `machine_code.is_trusted`
            made: CompileResult = CompileResult._rebuild(  # type: ignore[no-untyped-call] # noqa: SLF001
                target_context, *parts
            )
        except SPOILT:
            return None
        return made

    def save_overload(self, sig: object, data: Any) -> None:  # noqa: ANN401 - see above
        """Keep what was compiled, if that is possible."""
        if not data.library.has_dynamic_globals:
            content = dumps(data._reduce())  # type: ignore[no-untyped-call] # noqa: SLF001
            machine_code.keep(self.name(sig, data.target_context), content)

    def enable(self) -> None:
        """Do nothing: it is always on."""

    def disable(self) -> None:
        """Do nothing: whoever wants nothing kept names a folder that cannot be written."""

    def flush(self) -> None:
        """Do nothing: a file never becomes stale."""

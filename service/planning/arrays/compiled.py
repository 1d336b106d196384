"""Compile a plain Python function, keep the machine code where that is allowed."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from typing import Any

import numba
from numba.core.caching import _Cache
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

from service.planning.arrays import machine_code

Array = Any  # in compiled code: a numpy array, or a number read from one

# What a failing disk may have made of a kept file; then the function is compiled again.
SPOILT = (pickle.UnpicklingError, EOFError, LookupError, AttributeError, ImportError, TypeError)


def compiled(function: Callable[..., Any], *, inline: bool = False) -> Callable[..., Any]:
    """Return the function compiled by numba; its plain twin stays reachable as ``py_func``.

    The machine code is kept by what it was made from (`machine_code`). Where that cannot be
    written, as in a read-only image, it is compiled in memory, once in every process.

    Parameters
    ----------
    function
        Takes and returns numbers and numpy arrays only.
    inline
        Put the function's code where it is called: a call costs more than a small function does.
    """
    how: dict[str, Any] = {"error_model": "numpy", "inline": "always" if inline else "never"}
    made: Any = numba.njit(**how)(function)
    if made is not function:  # it is, where the environment asks for plain Python
        made._cache = _Kept(function, how)  # noqa: SLF001 - numba has no other way to hand in a store
    return made  # type: ignore[no-any-return] # numba makes any of its kinds of functions


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

    def load_overload(self, sig: object, target_context: Any) -> CompileResult | None:  # noqa: ANN401
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

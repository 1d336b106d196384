"""What borrowed arrays are in machine code: arrays without an owner."""

from __future__ import annotations

from collections.abc import Callable

from numba.core import cgutils
from numba.extending import intrinsic, overload

from service.planning.arrays.uncounted import Array, borrowed


@intrinsic
def uncounted(_, array):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN201 - types are values
    """Take the owner out of an array."""

    def made(context, builder, signature, arguments):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        copy = context.make_array(signature.args[0])(context, builder, value=arguments[0])
        copy.meminfo = cgutils.get_null_value(copy.meminfo.type)  # type: ignore[no-untyped-call] # as above
        return copy._getvalue()  # noqa: SLF001 - numba's own way

    return array(array), made


@overload(borrowed)
def borrowed_when_compiled(array) -> Callable[[Array], Array]:  # type: ignore[no-untyped-def] # noqa: ANN001, ARG001
    """Return what stands for ``borrowed`` in compiled code."""

    def taken(array):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        return uncounted(array)  # type: ignore[call-arg] # numba gives the first one

    return taken

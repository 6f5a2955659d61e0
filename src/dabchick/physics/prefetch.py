"""Ask the processor to fetch memory that will be needed soon; it changes no result."""

from collections.abc import Callable
from typing import Any, cast

from numba.core import cgutils, types
from numba.extending import intrinsic
from numpy.typing import NDArray

_tools = cast(Any, cgutils)
_ir = _tools.ir


def _prefetch(_context: Any, array: Any, index: Any) -> Any:
    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        held = context.make_array(signature.args[0])(context, builder, arguments[0])
        byte, number = _ir.IntType(8).as_pointer(), _ir.IntType(32)
        place = builder.bitcast(builder.gep(held.data, [arguments[1]]), byte)
        kind = _ir.FunctionType(_ir.VoidType(), [byte, number, number, number])
        instruction = _tools.get_or_insert_function(builder.module, kind, "llvm.prefetch.p0")
        # to be read, kept in every cache, data
        builder.call(instruction, [place, number(0), number(3), number(1)])
        return context.get_dummy_value()

    return types.void(array, index), generate


prefetch = cast(Callable[[NDArray[Any], int], None], intrinsic(_prefetch))
"""`prefetch(array, index)` in a kernel: the line of memory around array[index], array one-dimensional."""

"""How compiled code calls an entry by its address alone; imported only where numba is."""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

from typing import Any

from numba.core import cgutils, types
from numba.extending import intrinsic

TABLE = types.int64[::1]
PLACES = 1  # an entry looks at the place of its table and not at its length


@intrinsic
def call(_: Any, address: Any, table: Any) -> Any:
    """Call the entry at an address with the table at another; what it answers, or its error."""

    def generate(context: Any, builder: Any, __: Any, given: Any) -> Any:
        kind = context.call_conv.get_function_type(types.boolean, (TABLE,))
        entry = builder.inttoptr(given[0], kind.as_pointer())
        array = context.make_array(TABLE)(context, builder)
        word = context.get_constant(types.intp, context.get_abi_sizeof(context.get_data_type(TABLE.dtype)))
        context.populate_array(
            array,
            data=builder.inttoptr(given[1], array.data.type),
            shape=cgutils.pack_array(builder, [context.get_constant(types.intp, PLACES)]),
            strides=cgutils.pack_array(builder, [word]),
            itemsize=word,
            meminfo=None,
        )
        status, answer = context.call_conv.call_function(
            builder, entry, types.boolean, (TABLE,), (array._getvalue(),)
        )
        with cgutils.if_unlikely(builder, status.is_error):
            context.call_conv.return_status_propagate(builder, status)
        return answer

    return types.boolean(address, table), generate


def address_of(entry: Any) -> int:
    """Where the machine code of an entry of one table begins; compiled, or read from disk, if need be."""
    signature = (TABLE,)
    if signature not in entry.overloads:
        entry.compile(signature)
    made = entry.overloads[signature]
    return int(made.library.get_pointer_to_function(made.fndesc.llvm_func_name))

"""How numba reads tuples of arrays from a table of addresses (`addresses`); imported only where it is."""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

import operator
from functools import cache
from typing import Any

from llvmlite import ir
from numba.core import cgutils, config, types
from numba.core.imputils import lower_builtin, lower_getattr_generic
from numba.core.typing.templates import AttributeTemplate
from numba.extending import infer_getattr, intrinsic, models, register_model
from numba.np.numpy_support import from_dtype

from towerpace.compiling.addresses import Field, fields_of

PLACE = ir.IntType(64)


class Record(types.Type):
    """A tuple of arrays of one class, of which compiled code knows the table's place in memory alone."""

    def __init__(self, arrays: type[tuple[Any, ...]]) -> None:
        self.fields = fields_of(arrays)
        super().__init__(name=f"{arrays.__module__}.{arrays.__qualname__}")


@cache
def record_of(arrays: type[tuple[Any, ...]]) -> Record:
    """The one type of a class of tuples."""
    return Record(arrays)


@register_model(Record)
class _RecordModel(models.PrimitiveModel):
    """A pointer to the table."""

    def __init__(self, manager: Any, record: Record) -> None:
        super().__init__(manager, record, PLACE.as_pointer())


class Piece(types.Array):
    """An array in one piece, in which no place is counted from the end.

    numba looks at the sign of every index, and at the array's length in case it is negative: of the code of a
    look that is more than half.
    """

    def __init__(self, dtype: Any, axes: int) -> None:
        super().__init__(dtype, axes, "C", name=f"piece({dtype}, {axes})")


register_model(Piece)(models.ArrayModel)


def _place(context: Any, builder: Any, signature: Any, given: Any) -> Any:
    kind, index = signature.args[:2]
    array = context.make_array(kind)(context, builder, given[0])
    is_tuple = isinstance(index, types.BaseTuple)
    numbers = cgutils.unpack_tuple(builder, given[1]) if is_tuple else [given[1]]
    words = index.types if is_tuple else [index]
    place, *others = (
        context.cast(builder, number, word, types.intp) for number, word in zip(numbers, words, strict=True)
    )
    lengths = cgutils.unpack_tuple(builder, array.shape)
    if config.BOUNDSCHECK:
        for number, length in zip([place, *others], lengths, strict=True):
            _refuse_outside(context, builder, number, length)
    for number, length in zip(others, lengths[1:], strict=True):
        place = builder.add(builder.mul(place, length), number)
    return builder.gep(array.data, [place], inbounds=True)


def _refuse_outside(context: Any, builder: Any, number: Any, length: Any) -> None:
    """With NUMBA_BOUNDSCHECK=1, a place outside an array is an IndexError and no look at other memory."""
    with builder.if_then(builder.icmp_unsigned(">=", number, length), likely=False):
        context.call_conv.return_user_exc(builder, IndexError, ("a place outside an array",))


@lower_builtin(operator.getitem, Piece, types.Integer)
@lower_builtin(operator.getitem, Piece, types.BaseTuple)
def _look(context: Any, builder: Any, signature: Any, given: Any) -> Any:
    return context.unpack_value(builder, signature.args[0].dtype, _place(context, builder, signature, given))


@lower_builtin(operator.setitem, Piece, types.Integer, types.Any)
@lower_builtin(operator.setitem, Piece, types.BaseTuple, types.Any)
def _set(context: Any, builder: Any, signature: Any, given: Any) -> Any:
    kind, _, word = signature.args
    value = context.cast(builder, given[2], word, kind.dtype)
    context.pack_value(builder, kind.dtype, value, _place(context, builder, signature, given))
    return context.get_dummy_value()


def _type_of(field: Field) -> Any:
    if field.within is not None:
        return record_of(field.within)
    if field.dtype is None:
        return types.int64
    return Piece(from_dtype(field.dtype), field.axes)


@infer_getattr
class _Fields(AttributeTemplate):
    """What type the field of a record has."""

    key = Record

    def generic_resolve(self, record: Record, name: str) -> Any:
        """The type of a field; None if there is none of this name."""
        return _type_of(record.fields[name]) if name in record.fields else None


@lower_getattr_generic(Record)
def _read(context: Any, builder: Any, record: Record, table: Any, name: str) -> Any:
    field = record.fields[name]
    first = builder.gep(table, [PLACE(field.at)])
    if field.within is not None:
        return first
    numbers = [_load(builder, builder.gep(first, [PLACE(k)])) for k in range(field.width)]
    if field.dtype is None:
        return numbers[0]
    return _array(context, builder, _type_of(field), numbers)


def _load(builder: Any, place: Any) -> Any:
    """A number of the table, which nobody writes to while compiled code runs."""
    number = builder.load(place)
    number.set_metadata("invariant.load", builder.module.add_metadata([]))
    return number


def _array(context: Any, builder: Any, kind: Any, numbers: list[Any]) -> Any:
    """An array that begins at numbers[0] and has numbers[1:] entries along its axes."""
    address, *shape = numbers
    array = context.make_array(kind)(context, builder)
    item_bytes = context.get_abi_sizeof(context.get_data_type(kind.dtype))
    strides = [PLACE(item_bytes)]
    for length in shape[:0:-1]:
        strides.insert(0, builder.mul(strides[0], length))
    context.populate_array(
        array,
        data=builder.inttoptr(address, array.data.type),
        shape=cgutils.pack_array(builder, shape),
        strides=cgutils.pack_array(builder, strides),
        itemsize=PLACE(item_bytes),
        meminfo=None,
    )
    return array._getvalue()


def reader_of(arrays: type[tuple[Any, ...]]) -> Any:
    """A function for compiled code that reads a table of addresses as a record."""
    record = record_of(arrays)

    @intrinsic
    def read(_: Any, table: Any) -> Any:
        def generate(context: Any, builder: Any, signature: Any, given: Any) -> Any:
            kind = signature.args[0]
            return context.make_array(kind)(context, builder, given[0]).data

        return record(table), generate

    return read

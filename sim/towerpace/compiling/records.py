"""How numba reads tuples of arrays from a table of addresses (`addresses`); imported only where it is."""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

import operator
from functools import cache
from typing import Any

from llvmlite import ir
from numba.core import cgutils, config, types
from numba.core.imputils import lower_builtin, lower_getattr, lower_getattr_generic
from numba.core.typing.templates import (
    AbstractTemplate,
    AttributeTemplate,
    infer_global,
    signature,
)
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


class Piece(types.Type):
    """An array in one piece, of which compiled code knows the place in the table that says where it begins.

    numba's arrays bring seven values wherever they go, and look at the sign of every index, and at the
    length in case it is negative: of the code of a look that is more than half, and the whole program was
    compiled in 1.3 times the time. Here no place is counted from the end, and an array is one value: its
    address and lengths are read where somebody looks.
    """

    def __init__(self, dtype: Any, axes: int) -> None:
        self.dtype, self.axes = dtype, axes
        super().__init__(name=f"piece({dtype}, {axes})")


@register_model(Piece)
class _PieceModel(models.PrimitiveModel):
    """A pointer to what the table says of the array."""

    def __init__(self, manager: Any, piece: Piece) -> None:
        super().__init__(manager, piece, PLACE.as_pointer())


def _is_place(piece: Any, index: Any) -> bool:
    """Whether this is an index for each axis of a piece."""
    words = index.types if isinstance(index, types.BaseTuple) else (index,)
    return (
        isinstance(piece, Piece)
        and len(words) == piece.axes
        and all(isinstance(word, types.Integer) for word in words)
    )


@infer_global(operator.getitem)
class _Look(AbstractTemplate):
    """What a look gives."""

    def generic(self, args: Any, _: Any) -> Any:
        """The type of an item."""
        return signature(args[0].dtype, *args) if _is_place(*args) else None


@infer_global(operator.setitem)
class _Set(AbstractTemplate):
    """What may be written."""

    def generic(self, args: Any, _: Any) -> Any:
        """Nothing is given back."""
        piece, index, value = args
        is_right = _is_place(piece, index) and self.context.can_convert(value, piece.dtype) is not None
        return signature(types.none, *args) if is_right else None


@infer_global(len)
class _Length(AbstractTemplate):
    """How long a piece is."""

    def generic(self, args: Any, _: Any) -> Any:
        """A whole number."""
        return signature(types.intp, *args) if len(args) == 1 and isinstance(args[0], Piece) else None


@infer_getattr
class _Axes(AttributeTemplate):
    """What is known of a piece by name."""

    key = Piece

    def resolve_shape(self, piece: Piece) -> Any:
        """The lengths of its axes."""
        return types.UniTuple(types.intp, piece.axes)


def _lengths(builder: Any, piece: Piece, table: Any) -> list[Any]:
    return [_load(builder, builder.gep(table, [PLACE(1 + axis)])) for axis in range(piece.axes)]


@lower_builtin(len, Piece)
def _length(_: Any, builder: Any, sig: Any, given: Any) -> Any:
    return _lengths(builder, sig.args[0], given[0])[0]


@lower_getattr(Piece, "shape")
def _shape(_: Any, builder: Any, piece: Piece, table: Any) -> Any:
    return cgutils.pack_array(builder, _lengths(builder, piece, table))


def _place(context: Any, builder: Any, sig: Any, given: Any) -> Any:
    piece, index = sig.args[:2]
    is_tuple = isinstance(index, types.BaseTuple)
    numbers = cgutils.unpack_tuple(builder, given[1]) if is_tuple else [given[1]]
    words = index.types if is_tuple else [index]
    places = [
        context.cast(builder, number, word, types.intp) for number, word in zip(numbers, words, strict=True)
    ]
    lengths = _lengths(builder, piece, given[0]) if is_tuple or config.BOUNDSCHECK else []
    if config.BOUNDSCHECK:
        for number, length in zip(places, lengths, strict=True):
            _refuse_outside(context, builder, number, length)
    place = places[0]
    for number, length in zip(places[1:], lengths[1:], strict=True):
        place = builder.add(builder.mul(place, length), number)
    items = context.get_data_type(piece.dtype).as_pointer()
    return builder.gep(builder.inttoptr(_load(builder, given[0]), items), [place], inbounds=True)


def _refuse_outside(context: Any, builder: Any, number: Any, length: Any) -> None:
    """With NUMBA_BOUNDSCHECK=1, a place outside an array is an IndexError and no look at other memory."""
    with builder.if_then(builder.icmp_unsigned(">=", number, length), likely=False):
        context.call_conv.return_user_exc(builder, IndexError, ("a place outside an array",))


@lower_builtin(operator.getitem, Piece, types.Integer)
@lower_builtin(operator.getitem, Piece, types.BaseTuple)
def _look(context: Any, builder: Any, sig: Any, given: Any) -> Any:
    return context.unpack_value(builder, sig.args[0].dtype, _place(context, builder, sig, given))


@lower_builtin(operator.setitem, Piece, types.Integer, types.Any)
@lower_builtin(operator.setitem, Piece, types.BaseTuple, types.Any)
def _set(context: Any, builder: Any, sig: Any, given: Any) -> Any:
    piece, _, word = sig.args
    value = context.cast(builder, given[2], word, piece.dtype)
    context.pack_value(builder, piece.dtype, value, _place(context, builder, sig, given))
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
def _read(_: Any, builder: Any, record: Record, table: Any, name: str) -> Any:
    field = record.fields[name]
    first = builder.gep(table, [PLACE(field.at)])
    is_number = field.dtype is None and field.within is None
    return _load(builder, first) if is_number else first


def _load(builder: Any, place: Any) -> Any:
    """A number of the table, which nobody writes to while compiled code runs."""
    number = builder.load(place)
    number.set_metadata("invariant.load", builder.module.add_metadata([]))
    return number


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

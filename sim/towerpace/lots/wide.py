"""Words in ways that numba has no name for; imported only where numba is."""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic

WORD, PRODUCT = ir.IntType(64), ir.IntType(128)


@intrinsic
def halves(_: Any, a: Any, b: Any) -> Any:
    """The upper and the lower 64 bits of the product of two words, by one multiplication."""

    def generate(context: Any, builder: Any, signature: Any, given: Any) -> Any:
        whole = builder.mul(*(builder.zext(word, PRODUCT) for word in given))
        parts = builder.trunc(builder.lshr(whole, PRODUCT(64)), WORD), builder.trunc(whole, WORD)
        return context.make_tuple(builder, signature.return_type, parts)

    return types.UniTuple(types.uint64, 2)(a, b), generate


@intrinsic
def alone(_: Any, a: Any) -> Any:
    """The same word, of which no two are taken in one vector: those would be taken apart to multiply."""

    def generate(_: Any, builder: Any, __: Any, given: Any) -> Any:
        same = ir.InlineAsm(ir.FunctionType(WORD, [WORD]), "", "=r,0")
        return builder.call(same, given)

    return types.uint64(a), generate

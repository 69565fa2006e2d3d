"""The upper half of a product of two words, which numba has no name for; imported only where numba is."""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic

WORD, PRODUCT = ir.IntType(64), ir.IntType(128)


@intrinsic
def upper_half(_: Any, a: Any, b: Any) -> Any:
    """The upper 64 bits of the product of two words."""

    def generate(_: Any, builder: Any, __: Any, given: Any) -> Any:
        whole = builder.mul(*(builder.zext(word, PRODUCT) for word in given))
        return builder.trunc(builder.lshr(whole, PRODUCT(64)), WORD)

    return types.uint64(a, b), generate

"""The numbers of a stream by their places: Philox 4x64 of ten rounds, which counts.

Source: Salmon, Moraes, Dror & Shaw (2011), Parallel random numbers: as easy as 1, 2, 3, section 3.3 and
table 2 (from memory). numpy counts before it draws, so its first four numbers are those of counter 1; a
number from 0 to 1 is the upper 53 bits of a word over 2^53.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, cast

import numpy as np

from towerpace.compiling.jit import inline_part, numba

WORDS = 4  # of a block
MULTIPLIERS = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
WEYL = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
UNUSED_BITS = np.uint64(11)
STEP = 2.0**-53

upper_half: Callable[[Any, Any], Any] = (
    cast(Any, import_module("towerpace.lots.wide")).upper_half if numba() is not None else lambda a, b: a * b
)
M0, M1 = MULTIPLIERS
W0, W1 = WEYL


@inline_part
def round_of(a: Any, b: Any, c: Any, d: Any, k: Any) -> tuple[Any, Any, Any, Any]:
    """The four words after one round; k : the two words of its key."""
    return upper_half(M1, c) ^ b ^ k[0], M1 * c, upper_half(M0, a) ^ d ^ k[1], M0 * a


@inline_part
def next_key(k: Any) -> tuple[Any, Any]:
    """The key of the round after."""
    return k[0] + W0, k[1] + W1


@inline_part
def block(counter: Any, number: int) -> tuple[Any, Any, Any, Any]:
    """The four words of a block of a stream; counter : (3,) as of `Counted.counters`, number : from 0.

    Its ten rounds are written out: the compiler, on its first level, would leave a loop.
    """
    k0 = counter[0], counter[1]
    k1 = next_key(k0)
    k2 = next_key(k1)
    k3 = next_key(k2)
    k4 = next_key(k3)
    a, b, c, d = round_of(np.uint64(number + 1), np.uint64(0), counter[2], np.uint64(0), k0)
    a, b, c, d = round_of(a, b, c, d, k1)
    a, b, c, d = round_of(a, b, c, d, k2)
    a, b, c, d = round_of(a, b, c, d, k3)
    a, b, c, d = round_of(a, b, c, d, k4)
    k5 = next_key(k4)
    k6 = next_key(k5)
    k7 = next_key(k6)
    k8 = next_key(k7)
    a, b, c, d = round_of(a, b, c, d, k5)
    a, b, c, d = round_of(a, b, c, d, k6)
    a, b, c, d = round_of(a, b, c, d, k7)
    a, b, c, d = round_of(a, b, c, d, k8)
    return round_of(a, b, c, d, next_key(k8))


@inline_part
def word_of(words: Any, place: int) -> Any:
    """One of the four words of a block."""
    return words[0] if place == 0 else words[1] if place == 1 else words[2] if place == 2 else words[3]


@inline_part
def share(word: Any) -> float:
    """A word as a number from 0 to 1, 1 excluded."""
    return float(word >> UNUSED_BITS) * STEP

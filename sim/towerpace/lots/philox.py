"""The numbers of a stream by their places: Philox 4x64 of ten rounds, which counts.

Source: Salmon, Moraes, Dror & Shaw (2011), Parallel random numbers: as easy as 1, 2, 3, section 3.3 and
table 2 (from memory). numpy counts before it draws, so its first four numbers are those of counter 1; a
number from 0 to 1 is the upper 53 bits of a word over 2^53.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any

import numpy as np

from towerpace.compiling.jit import inline_part, numba, part
from towerpace.units import Floats

WORDS = 4  # of a block
ROUNDS = 10
MULTIPLIERS = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
WEYL = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
UNUSED_BITS = np.uint64(11)
STEP = 2.0**-53

_wide: Any = import_module("towerpace.lots.wide") if numba() is not None else None
halves: Callable[[Any, Any], Any] = (lambda a, b: (a, b)) if _wide is None else _wide.halves
alone: Callable[[Any], Any] = (lambda a: a) if _wide is None else _wide.alone
M0, M1 = MULTIPLIERS
W0, W1 = WEYL


@inline_part
def share(word: Any) -> float:
    """A word as a number from 0 to 1, 1 excluded."""
    return float(word >> UNUSED_BITS) * STEP


@inline_part
def write_block(words: Any, number: int, room: Floats, at: int) -> None:
    """Write the four numbers of a block of a stream from a place on.

    words : three, as of `Counted.counters`, held by who draws many blocks. number : of the block, from 0.
    """
    key_0, key_1, trial = words
    a, b, c, d = alone(np.uint64(number + 1)), np.uint64(0), trial, np.uint64(0)
    for _ in range(ROUNDS):
        (upper_c, lower_c), (upper_a, lower_a) = halves(M1, c), halves(M0, a)
        a, b, c, d = upper_c ^ b ^ key_0, lower_c, upper_a ^ d ^ key_1, lower_a
        key_0, key_1 = key_0 + W0, key_1 + W1
    room[at], room[at + 1], room[at + 2], room[at + 3] = share(a), share(b), share(c), share(d)


@part
def draw_block(counter: Any, number: int, room: Floats, at: int) -> None:
    """Write the four numbers of one block; counter : (3,) as of `Counted.counters`."""
    write_block((counter[0], counter[1], counter[2]), number, room, at)

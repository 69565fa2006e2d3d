"""What a user may call the engines; apart, as a command line that only helps needs none of them."""

from __future__ import annotations

from typing import Literal, get_args

EngineName = Literal["fastest", "compiled", "reference"]
ENGINES: tuple[EngineName, ...] = get_args(EngineName)

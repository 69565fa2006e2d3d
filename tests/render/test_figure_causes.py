"""Causes that a figure shows can be told apart, in colour and in grey."""

from itertools import combinations

import pytest
from matplotlib.colors import to_rgb

from towerpace.render.figures.causes import GROUPS


def lightness(colour):
    """Luma of ITU-R BT.601, from memory."""
    return sum(share * part for share, part in zip((0.299, 0.587, 0.114), to_rgb(colour), strict=True))


@pytest.mark.parametrize(
    "pair", list(combinations(GROUPS, 2)), ids=lambda pair: f"{pair[0].name}-{pair[1].name}"
)
def test_no_two_causes_look_alike(pair):
    one, other = pair
    assert one.colour != other.colour
    assert one.hatch != other.hatch or abs(lightness(one.colour) - lightness(other.colour)) > 0.08

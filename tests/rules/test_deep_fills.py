"""Coats thicker than the table's: by their water, then by the square, then refused.

That diffusion takes the square of the thickness: the falling rate of drying, Sherwood
1929, from memory. The table's own cell: 17 h at 70 °F and 50 %, from memory.

Tests of planner/air/waits.py, planner/trade/data/materials.py.
"""

import pytest

from planner.air.waits import hours_at
from planner.errors import OutOfRangeError
from planner.trade.data.materials import product
from tests.support.command import covetime

DRY = product("topping").stages[0]
WARM_C = (70 - 32) / 1.8
SIXTEENTH_MM = 25.4 / 16


def hours(layers):
    return hours_at(DRY, WARM_C, 50.0, layers * SIXTEENTH_MM)


@pytest.mark.parametrize(
    ("layers", "expected_h"), [(0.5, 8.5), (1, 17), (2, 34), (3, 76.5), (4, 136)]
)
def test_up_to_two_layers_in_proportion_beyond_by_the_square(layers, expected_h):
    assert hours(layers) == pytest.approx(expected_h)


def test_there_is_no_jump_and_a_thicker_coat_never_dries_sooner():
    steps = [hours(n / 10) for n in range(5, 41)]
    assert steps == sorted(steps)
    assert hours(2.001) == pytest.approx(hours(2.0), rel=0.002)
    # in the square's range twice the thickness takes four times as long
    assert hours(4.0) == pytest.approx(4 * hours(2.0))


def test_a_deep_fill_is_refused_with_a_way_on():
    with pytest.raises(OutOfRangeError):
        hours(4.1)
    ran = covetime("dry", "topping", "--temp", "70 F", "--rh", "50 %",
                   "--thickness", "1/2 in")  # fmt: skip
    assert ran.returncode == 2
    assert "lay it in several coats" in ran.stderr

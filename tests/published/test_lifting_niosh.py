"""The lifting equation against published worked values.

In cm and kg: the equation in inches and pounds is rounded otherwise (51 lb is 23.1 kg).

Tests of planner/trade/lifting/lifting.py.
"""

import pytest

from planner.trade.lifting.lifting import weight_limit_kg


def test_the_easiest_lift_has_the_load_constant_as_its_limit():
    # 94-110, section 1.3: 23 kg where every multiplier is 1
    assert weight_limit_kg(h_cm=25, v_cm=75, d_cm=25) == pytest.approx(23.0)
    assert weight_limit_kg(h_cm=20, v_cm=75, d_cm=10) == pytest.approx(23.0)


@pytest.mark.parametrize(
    ("twist", "am"),
    [(0, 1.00), (15, 0.95), (30, 0.90), (45, 0.86), (60, 0.81), (75, 0.76),
     (90, 0.71), (105, 0.66), (120, 0.62), (135, 0.57)],
)  # fmt: skip
def test_twisting_takes_off_what_the_printed_table_says(twist, am):
    # table 2.10 "Asymmetric multiplier" at what-when-how.com, after Waters et al. 1994
    got = weight_limit_kg(h_cm=25, v_cm=75, d_cm=25, a_deg=twist) / 23.0
    assert got == pytest.approx(am, abs=0.005)


def test_metal_lifted_from_the_floor_to_a_table_as_worked_by_ccohs():
    # ccohs.ca/oshanswers/ergonomics/niosh/vertical.html: H 30, V 0, D 115 cm, poor grip
    # (0.90): 23 x 0.80 x 0.80 x 0.86 x 0.90 = 11.4 kg. Its multipliers are rounded to
    # a coarse table, so 0.1 kg is allowed on the limit.
    got = weight_limit_kg(h_cm=30, v_cm=0, d_cm=115, cm=0.90)
    assert got == pytest.approx(11.4, abs=0.1)


@pytest.mark.parametrize(("height", "vm"), [(0, 0.78), (75, 1.0), (175, 0.70)])
def test_height_takes_off_what_the_summary_says(height, vm):
    # bridgitmendlermusic.com/what-is-the-niosh-lifting-equation: VM 0.78 at the floor,
    # 1 at 75 cm, 0.7 at 175 cm
    got = weight_limit_kg(h_cm=25, v_cm=height, d_cm=25) / 23.0
    assert got == pytest.approx(vm, abs=0.0051)


@pytest.mark.parametrize(
    ("posture", "limit", "index"),
    [
        ({"h_cm": 30, "v_cm": 75, "d_cm": 25}, 19.17, 0.57),
        ({"h_cm": 40, "v_cm": 0, "d_cm": 75, "fm": 0.94, "cm": 0.95}, 8.76, 1.26),
        (
            {"h_cm": 45, "v_cm": 20, "d_cm": 100, "a_deg": 30, "fm": 0.94, "cm": 0.90},
            7.06,
            1.56,
        ),
        ({"h_cm": 60, "v_cm": 0, "d_cm": 100, "fm": 0.94, "cm": 0.90}, 5.44, 2.02),
    ],
)
def test_eleven_kilograms_in_four_postures(posture, limit, index):
    # computed apart from this program, by hand from 94-110's equation
    got = weight_limit_kg(**posture)
    assert got == pytest.approx(limit, abs=0.01)
    assert 11.0 / got == pytest.approx(index, abs=0.006)


@pytest.mark.parametrize(
    "beyond",
    [{"h_cm": 63.1}, {"v_cm": 176.0}, {"d_cm": 176.0}, {"a_deg": 136.0}],
)
def test_beyond_the_equations_range_nothing_is_lifted(beyond):
    # 94-110, section 1.3: the multiplier is 0 beyond 63 cm, 175 cm, 175 cm and 135°
    posture = {"h_cm": 30.0, "v_cm": 75.0, "d_cm": 50.0, "a_deg": 0.0}
    assert weight_limit_kg(**posture) > 0.0
    assert weight_limit_kg(**(posture | beyond)) == 0.0

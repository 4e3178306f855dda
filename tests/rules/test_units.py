"""People's units at the door; the factors are exact by definition (1959 agreement).

Tests of planner/units.py.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import units
from planner.measures import Units


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("24 ft", 7315.2),  # 24 x 304.8
        ("3 ft 6 in", 1066.8),  # 42 x 25.4
        ("3' 6\"", 1066.8),
        ("35 1/2 in", 901.7),
        ("1/16 in", 1.5875),
        ("7.2 m", 7200.0),
        ("720cm", 7200.0),
        ("7 m 20 cm", 7200.0),
        ("902 mm", 902.0),
    ],
)
def test_a_length_in_both_unit_systems(text, mm):
    assert units.length_mm(text) == pytest.approx(mm, abs=1e-6)


@pytest.mark.parametrize(
    "text",
    ["", "24", "ft", "3 ft 6", "3 furlongs", "in 3", "-2 m", "1/0 in", f"{10**400} m"],
)
def test_what_is_no_length_is_refused_with_an_example(text):
    with pytest.raises(ValueError, match="3 ft 6 in"):
        units.length_mm(text)


@pytest.mark.parametrize(
    ("text", "c"), [("68 F", 20), ("50°F", 10), ("20 C", 20), ("-5 C", -5), ("32 F", 0)]
)
def test_a_temperature_in_both_scales(text, c):
    assert units.temperature_c(text) == pytest.approx(c)


@pytest.mark.parametrize(
    "text", ["68", "68 K", "warm", "F 68", "1/0 F", "9" * 400 + " F"]
)
def test_what_is_no_temperature_is_refused(text):
    with pytest.raises(ValueError, match="68 F"):
        units.temperature_c(text)


def test_masses_times_and_percentages():
    assert units.mass_kg("24 lb") == pytest.approx(10.886, abs=1e-3)
    assert units.hours("90 min") == 1.5
    assert units.hours("2 days") == 48
    assert units.percent("62 %") == 62
    with pytest.raises(ValueError, match="percentage"):
        units.percent("0.62")


@given(st.integers(16, 16 * 12 * 60))
def test_a_length_in_words_reads_back_to_a_sixteenth(sixteenths):
    mm = sixteenths * 25.4 / 16
    words = Units.US.length(mm).split(" (")[0]
    assert units.length_mm(words) == pytest.approx(mm, abs=1e-6)

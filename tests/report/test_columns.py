"""Lines of text: where they may end.

Tests of planner/report/columns.py.
"""

import re

import pytest

from planner.report.columns import item, labelled, wrapped

SAID = (
    "Topping dries 95 h 15 min (likely 76 h 45 min) at 65 °F (18 °C), 49 % humidity, over "
    "541 ft² (50.2 m²), from a pack of 2.5 kg, in 8 of 10 cases"
)
UNITS = ("h", "min", "°F", "°C", "%", "ft²", "m²", "kg")


def parted(lines: list[str]) -> list[tuple[str, str]]:
    """Return the ends and beginnings of lines between which a unit lost its number."""
    ends = [line.split()[-1] for line in lines[:-1]]
    begins = [re.split(r"[\s,;)]", line.strip())[0] for line in lines[1:]]
    pairs = zip(ends, begins, strict=True)
    return [(a, b) for a, b in pairs if a[-1].isdigit() and b in UNITS]


@pytest.mark.parametrize("width", range(12, 90, 3))
def test_a_number_stays_with_its_unit(width):
    lines = wrapped(SAID, width=width)
    assert parted(lines) == []
    assert " ".join(lines) == SAID
    assert max(map(len, lines)) <= width


def test_no_word_is_lost_where_each_number_would_be_parted_from_its_unit():
    """By hand: "95" would be the last that fits in 16 signs; it goes down with its "h"."""
    assert wrapped(SAID, width=16)[:3] == [
        "Topping dries",
        "95 h 15 min",
        "(likely 76 h",
    ]
    assert labelled("Wait", "takes 12345 h", 6, width=17) == [
        "Wait  takes",
        "      12345 h",
    ]
    assert item("3 in 10", "", hang=2) == ["3 in 10"]

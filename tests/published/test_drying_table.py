"""The drying table, its interpolation and the law of evaporation beside it.

Source of the cells: drying time of joint compound under tape, a table of the
gypsum-finishing handbooks, in days and hours. Every cell is from memory: no page
that prints the whole table could be read. The errors of interpolation and fit were
worked out apart from this program, against the same remembered cells.

Tests of planner/air/drying_table.py.
"""

import numpy as np
import pytest

from planner.air.drying_table import (
    EVAPORATION_A_H,
    EVAPORATION_B,
    EVAPORATION_C,
    DryingTable,
    drying_times,
    evaporation_h,
    table_h,
)
from planner.air.moist_air import saturation_pa

# As printed: rows by relative humidity, columns 32, 40, ... 100 °F; days x 24.
COLUMNS_F = (32, 40, 50, 60, 70, 80, 90, 100)
CELLS = {
    98: (1272, 912, 624, 432, 288, 216, 144, 108),
    97: (888, 624, 432, 288, 216, 144, 108, 78),
    96: (672, 504, 336, 240, 168, 120, 84, 60),
    95: (600, 408, 288, 192, 144, 96, 66, 48),
    94: (480, 336, 240, 168, 120, 78, 54, 41),
    93: (432, 288, 216, 144, 96, 66, 48, 36),
    92: (360, 264, 192, 120, 84, 60, 44, 32),
    91: (336, 240, 168, 114, 78, 54, 40, 29),
    90: (312, 216, 144, 108, 72, 49, 36, 26),
    85: (240, 144, 96, 72, 48, 34, 25, 18),
    80: (168, 114, 78, 54, 38, 27, 19, 14),
    70: (108, 84, 54, 38, 26, 19, 14, 10),
    60: (84, 60, 42, 29, 20, 14, 10, 8),
    50: (72, 48, 36, 24, 17, 12, 9, 6),
    40: (60, 44, 29, 20, 14, 10, 7, 5),
    30: (54, 38, 26, 18, 12, 9, 6, 4.5),
    20: (48, 34, 23, 16, 11, 8, 5.5, 4),
    10: (42, 30, 21, 14, 10, 7, 5, 3.5),
    0: (38, 28, 19, 13, 9, 6, 4.5, 3),
}
ROWS = sorted(CELLS)
HOURS = np.array([CELLS[rh] for rh in ROWS], dtype=float)


def celsius(fahrenheit):
    return (np.asarray(fahrenheit, dtype=float) - 32.0) * 5.0 / 9.0


def every_cell():
    return [
        (rh, f, hours)
        for rh in ROWS
        for f, hours in zip(COLUMNS_F, CELLS[rh], strict=True)
    ]


def test_the_table_gives_all_152_cells_at_their_nodes():
    cells = every_cell()
    assert len(cells) == 152
    for rh, f, hours in cells:
        assert float(table_h(celsius(f), rh)) == pytest.approx(hours, rel=1e-9), (rh, f)


def test_the_cells_rise_with_damp_and_fall_with_warmth():
    assert (np.diff(HOURS, axis=0) > 0).all()
    assert (np.diff(HOURS, axis=1) < 0).all()


# Interpolation, then law of evaporation, both to the digits of the source. [h]
CHECK_VALUES = [
    (70, 50, 17.00, 16.61),
    (72, 50, 15.86, 15.48),
    (68, 45, 16.48, 16.36),
    (65, 65, 27.25, 27.37),
    (59, 75, 46.13, 46.16),
    (77, 50, 13.32, 13.01),
    (70, 85, 48.00, 49.08),
    (50, 80, 78.00, 79.33),
]


@pytest.mark.parametrize(("f", "rh", "by_table", "by_law"), CHECK_VALUES)
def test_hours_between_the_nodes(f, rh, by_table, by_law):
    assert float(table_h(celsius(f), rh)) == pytest.approx(by_table, abs=0.0051)
    assert float(evaporation_h(celsius(f), rh)) == pytest.approx(by_law, abs=0.0051)


# Error of the law of evaporation against each cell, per cent, to a tenth.
LAW_ERRORS = {
    98: (2.2, 2.5, 1.0, 0.0, 4.5, -1.4, 6.1, 2.8),
    95: (-5.1, 0.5, -4.1, -1.4, -8.4, -2.8, 1.4, 1.4),
    90: (-2.2, 1.7, 2.8, -6.0, -1.8, 2.0, -0.4, 0.3),
    85: (-11.7, 5.9, 7.1, -2.1, 2.2, 2.1, -0.4, 0.6),
    70: (5.1, -2.7, 2.0, -0.7, 1.1, -2.1, -4.7, -3.0),
    50: (-0.4, 7.5, -3.4, -0.7, -2.3, -2.1, -6.4, 2.1),
    30: (-1.9, 0.3, -1.2, -2.2, 2.2, -3.6, 3.7, 0.6),
    0: (1.1, -1.3, -1.9, -1.7, -1.1, 4.9, 0.3, 9.4),
}


@pytest.mark.parametrize("rh", LAW_ERRORS)
def test_the_law_of_evaporation_misses_each_cell_by_what_the_fit_said(rh):
    law = evaporation_h(celsius(COLUMNS_F), rh)
    errors = (law / np.array(CELLS[rh]) - 1.0) * 100.0
    assert errors == pytest.approx(LAW_ERRORS[rh], abs=0.15)


def test_the_law_of_evaporation_is_the_least_squares_fit_to_the_cells():
    warm, damp = np.meshgrid(celsius(COLUMNS_F), np.array(ROWS, dtype=float))
    columns = [
        np.ones(warm.size),
        -np.log(saturation_pa(warm.ravel()) / 1000.0),
        -np.log1p(-damp.ravel() / 100.0),
    ]
    (ln_a, b, c), *_ = np.linalg.lstsq(
        np.column_stack(columns), np.log(HOURS.ravel()), rcond=None
    )
    # a, b, c as printed: 23.05, 1.037, 0.900
    assert np.exp(ln_a) == pytest.approx(EVAPORATION_A_H, abs=0.005)
    assert b == pytest.approx(EVAPORATION_B, abs=0.0005)
    assert c == pytest.approx(EVAPORATION_C, abs=0.0005)


def test_the_law_of_evaporation_is_within_its_stated_errors():
    errors = [
        float(evaporation_h(celsius(f), rh)) / h - 1.0 for rh, f, h in every_cell()
    ]
    size = np.abs(errors)
    assert size.mean() * 100 == pytest.approx(2.4, abs=0.05)
    assert size.max() * 100 == pytest.approx(11.7, abs=0.05)
    root = np.sqrt(np.mean(np.log1p(errors) ** 2))
    assert root == pytest.approx(0.032, abs=0.0005)


def test_table_and_law_never_differ_by_15_per_cent_in_the_whole_range():
    warm, damp = np.meshgrid(np.linspace(0, celsius(100), 151), np.linspace(0, 98, 197))
    off = np.abs(table_h(warm, damp) / evaporation_h(warm, damp) - 1.0)
    assert off.max() < 0.15
    assert off.mean() < 0.02


# ---------------------------------------------------------------- leave one out


def thinned(*, without_row=None, without_column=None):
    """Return the table with a row, a column or both left out."""
    whole = drying_times()
    rows = [i for i in range(whole.damp.size) if i != without_row]
    columns = [j for j in range(whole.warm_c.size) if j != without_column]
    return DryingTable(
        warm_c=whole.warm_c[columns],
        damp=whole.damp[rows],
        ln_hours=whole.ln_hours[np.ix_(rows, columns)],
    )


def left_out(kind):
    """Return the errors of the inner nodes, each predicted without itself. [%]"""
    out = []
    inner_rows, inner_columns = range(1, len(ROWS) - 1), range(1, len(COLUMNS_F) - 1)
    rows = range(len(ROWS)) if kind == "column" else inner_rows
    columns = range(len(COLUMNS_F)) if kind == "row" else inner_columns
    for i in rows:
        for j in columns:
            place = celsius(COLUMNS_F[j]), ROWS[i]

            def by(place=place, **without):
                return float(thinned(**without).hours(*place))

            match kind:
                case "column":
                    said = by(without_column=j)
                case "row":
                    said = by(without_row=i)
                case "cell":
                    said = (by(without_column=j) + by(without_row=i)) / 2.0
                case _:
                    said = by(without_row=i, without_column=j)
            out.append((said / HOURS[i, j] - 1.0) * 100.0)
    return np.array(out)


@pytest.mark.parametrize(
    ("kind", "count", "mean", "bias", "worst"),
    [
        ("column", 114, 2.9, 1.0, 10.9),
        ("row", 136, 2.4, 0.0, 9.5),
        ("cell", 102, 2.4, 0.5, 7.8),
        ("four corners", 102, 2.7, 1.0, 8.9),
    ],
)
def test_leaving_a_node_out_costs_what_was_worked_out(kind, count, mean, bias, worst):
    errors = left_out(kind)
    assert errors.size == count
    assert np.abs(errors).mean() == pytest.approx(mean, abs=0.05)
    assert errors.mean() == pytest.approx(bias, abs=0.05)
    assert np.abs(errors).max() == pytest.approx(worst, abs=0.05)


def test_rows_of_tens_predict_the_damp_rows_within_3_per_cent():
    whole = drying_times()
    kept = [i for i, rh in enumerate(ROWS) if rh % 10 == 0 or rh == 98]
    coarse = DryingTable(
        warm_c=whole.warm_c, damp=whole.damp[kept], ln_hours=whole.ln_hours[kept]
    )
    missing = [rh for rh in ROWS if rh % 10 and rh != 98]
    errors = np.array(
        [
            coarse.hours(celsius(COLUMNS_F), rh) / np.array(CELLS[rh]) - 1
            for rh in missing
        ]
    )
    assert errors.size == 64
    assert np.abs(errors).mean() * 100 == pytest.approx(3.0, abs=0.05)
    assert np.abs(errors).max() * 100 == pytest.approx(9.5, abs=0.05)

"""Pieces on sheets: nothing overlaps, nothing sticks out, the saw has its width.

Tests of planner/trade/opening/cutting.py.
"""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.trade.opening.cutting import (
    FEET_SHEET,
    KERF_MM,
    METRIC_SHEET,
    SHEETS,
    CutSheet,
    Placed,
    Wanted,
    check,
    cutting_lines,
    nested,
)

sizes = st.tuples(st.floats(20.0, 2400.0), st.floats(20.0, 1200.0))


def wanted(*sizes: tuple[float, float]) -> list[Wanted]:
    return [
        Wanted(label=f"P{n}", length_mm=a, width_mm=b)
        for n, (a, b) in enumerate(sizes, 1)
    ]


def gap(a: Placed, b: Placed) -> float:
    """Return how far two pieces lie apart, along or across, whichever is more."""
    along = max(
        a.along_mm - b.along_mm - b.length_mm, b.along_mm - a.along_mm - a.length_mm
    )
    across = max(
        a.across_mm - b.across_mm - b.width_mm, b.across_mm - a.across_mm - a.width_mm
    )
    return max(along, across)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
@given(st.lists(sizes, min_size=1, max_size=25))
def test_pieces_lie_in_their_sheet_a_saw_cut_apart(sheet, found):
    cut = nested(wanted(*found), sheet)
    labels = [p.label for one in cut for p in one.pieces]
    assert sorted(labels) == sorted(f"P{n + 1}" for n in range(len(found)))
    area = sum(a * b for a, b in found) * 1e-6
    assert sum(p.area_m2 for one in cut for p in one.pieces) == pytest.approx(area)
    for one in cut:
        for p in (*one.pieces, *one.offcuts):
            assert min(p.along_mm, p.across_mm) >= 0.0
            assert p.along_mm + p.length_mm <= sheet.length_mm + 1e-6
            assert p.across_mm + p.width_mm <= sheet.width_mm + 1e-6
        for a, b in combinations((*one.pieces, *one.offcuts), 2):
            assert gap(a, b) >= KERF_MM - 1e-6
        taken = sum(p.area_m2 for p in (*one.pieces, *one.offcuts))
        assert taken <= sheet.length_mm * sheet.width_mm * 1e-6 + 1e-9


@given(st.lists(sizes, min_size=1, max_size=12))
def test_a_piece_lies_whichever_way_it_is_given(found):
    one = nested(wanted(*found), FEET_SHEET)
    other = nested(wanted(*((b, a) for a, b in found)), FEET_SHEET)
    assert one == other


def test_a_whole_sheet_needs_no_saw():
    (one,) = nested(wanted((2400.0, 1200.0)), METRIC_SHEET)
    assert one.offcuts == ()
    assert one.rips_mm == ()


def test_four_rips_of_a_quarter_do_not_fit_beside_three_saw_cuts():
    # 4 x 300 mm is 1200 mm, but the saw takes 3 x 3.2 mm of it
    quarter = (2400.0, 300.0)
    assert len(nested(wanted(*[quarter] * 4), METRIC_SHEET)) == 2
    assert len(nested(wanted(*[quarter] * 4), METRIC_SHEET, kerf_mm=0.0)) == 1


def test_short_pieces_share_a_shelf_and_the_rest_of_it_is_listed():
    # 1000 + 3.2 + 1000 + 3.2 leaves 393.6 mm of the shelf; 1200 - 203.2 of the sheet
    (one,) = nested(wanted((1000.0, 200.0), (200.0, 1000.0)), METRIC_SHEET)
    left = [(round(p.length_mm, 1), round(p.width_mm, 1)) for p in one.offcuts]
    assert left == [(393.6, 200.0), (2400.0, 996.8)]
    lines = cutting_lines((one,), lambda mm: f"{mm:.0f}")
    assert lines[0].endswith("P1 1000 by 200, P2 1000 by 200")
    assert lines[1] == "  left over: 394 by 200, 2400 by 997"


@pytest.mark.parametrize("size", [(2401.0, 100.0), (1201.0, 1201.0)])
def test_a_piece_larger_than_a_sheet_is_refused(size):
    with pytest.raises(ValueError, match="larger than a sheet"):
        nested(wanted(size), METRIC_SHEET)


@pytest.mark.parametrize(
    "pieces",
    [
        [(0.0, 0.0, 500.0, 100.0), (499.0, 0.0, 500.0, 100.0)],
        [(0.0, 0.0, 2401.0, 100.0)],
        [(0.0, 1150.0, 100.0, 100.0)],
        [(-1.0, 0.0, 100.0, 100.0)],
    ],
)
def test_a_wrong_layout_does_not_pass_the_check(pieces):
    laid = tuple(
        Placed(label="P", along_mm=a, across_mm=c, length_mm=x, width_mm=w)
        for a, c, x, w in pieces
    )
    with pytest.raises(AssertionError):
        check(CutSheet(sheet=METRIC_SHEET, pieces=laid, offcuts=(), rips_mm=()))

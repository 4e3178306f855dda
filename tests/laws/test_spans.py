"""The algebra of half-open spans, against plain sets of ticks.

Tests of planner/hours/spans.py.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.hours.spans import Spans

TICKS = 40
pairs = st.tuples(st.integers(0, TICKS), st.integers(0, TICKS))
spans = st.lists(pairs, max_size=8).map(Spans.of)


def ticks(s: Spans) -> set[int]:
    return {t for a, b in s for t in range(a, b)}


@given(spans, spans)
def test_union_intersection_and_difference_are_those_of_sets(a, b):
    assert ticks(a | b) == ticks(a) | ticks(b)
    assert ticks(a & b) == ticks(a) & ticks(b)
    assert ticks(a - b) == ticks(a) - ticks(b)


@given(spans, spans)
def test_results_are_sorted_and_never_touch(a, b):
    for s in (a | b, a & b, a - b):
        edges = [e for span in s for e in span]
        assert edges == sorted(set(edges))


@given(spans)
def test_a_mask_and_back_gives_the_same_spans(a):
    assert Spans.from_mask(a.mask(TICKS)) == a
    assert a.total == int(np.count_nonzero(a.mask(TICKS))) == len(ticks(a))


@given(spans, st.integers(-2, TICKS + 2))
def test_a_tick_lies_in_the_set_or_not(a, tick):
    assert (tick in a) == (tick in ticks(a))


@given(spans, pairs)
def test_clipping_keeps_what_lies_inside(a, cut):
    assert ticks(a.clip(*cut)) == {t for t in ticks(a) if cut[0] <= t < cut[1]}


@pytest.mark.parametrize(
    ("items", "said"),
    [
        (((3, 3),), "empty or backward"),
        (((3, 2),), "empty or backward"),
        (((0, 2), (3, 3)), "empty or backward"),
        (((0, 2), (2, 3)), "touches"),
        (((0, 2), (1, 3)), "touches"),
        (((4, 5), (0, 2)), "touches"),
    ],
)
def test_spans_that_are_empty_touch_or_lie_unsorted_are_refused(items, said):
    with pytest.raises(ValueError, match=said):
        Spans(items)


def test_spans_with_a_tick_between_them_stay_apart():
    assert Spans(((0, 2), (3, 4))).items == Spans.of([(3, 4), (0, 2)]).items
    assert Spans.of([(2, 3), (0, 2)]).items == ((0, 3),)


def test_a_mask_is_cut_at_its_length_and_at_zero():
    assert Spans(((-3, 2), (4, 9))).mask(6).tolist() == [
        True,
        True,
        *[False] * 2,
        *[True] * 2,
    ]
    assert not Spans(((-3, -1),)).mask(6).any()

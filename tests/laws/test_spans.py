"""The algebra of half-open spans, against plain sets of ticks."""

import numpy as np
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

"""When to close, without planning: gaps, what may move in them, which closures are kept.

Tests of planner/usecases/comparing/gaps.py, planner/nouns/choices/closures.py.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from random import Random

import pytest

from planner.nouns.calendar import Busy
from planner.nouns.choices.closures import (
    ClosureChoices,
    ClosureOption,
    Gap,
    criteria,
    undominated,
)
from planner.nouns.choices.comparison import BackBy, Figures
from planner.nouns.work import ReturnKind
from planner.usecases.comparing.gaps import APART, gaps_of, gaps_to_look_at

DAY = timedelta(days=1)
BASE = datetime(2027, 2, 1, tzinfo=UTC)


def busy(start: int, end: int, kind: str = "busy", cost: float | None = None) -> Busy:
    return Busy(
        start=BASE + start * DAY, end=BASE + end * DAY, kind=kind, title=f"{start}",
        file="s.ics", uid=f"{start}", moving_cost=cost,
    )  # fmt: skip


def days(gaps: Sequence[Gap]) -> list[tuple[int, int | None]]:
    return [
        ((g.start - BASE).days, (g.end - BASE).days if g.end else None) for g in gaps
    ]


@pytest.mark.parametrize("seed", range(20))
def test_gaps_are_the_free_days_and_nothing_else(seed):
    r = Random(seed)
    bookings = [busy(a, a + r.randint(1, 4)) for a in r.choices(range(40), k=8)]
    taken = {
        d for b in bookings
        for d in range((b.start - BASE).days, (b.end - BASE).days)
    }  # fmt: skip
    gaps = days(gaps_of(bookings, BASE, BASE + 60 * DAY))
    inside = {d for a, b in gaps for d in range(a, b or 60)}
    assert inside == set(range(60)) - taken
    assert gaps[-1][1] is None


def test_a_gap_that_begins_later_than_asked_is_left_out():
    bookings = [busy(3, 5), busy(8, 9)]
    assert days(gaps_of(bookings, BASE, BASE + 4 * DAY)) == [(0, 3)]
    assert days(gaps_of(bookings, BASE, BASE + 6 * DAY)) == [(0, 3), (5, 8)]


def test_what_would_be_free_if_bookings_moved_is_looked_at_too():
    """Tentative ones may be moved, and those with a price; the others stay."""
    for movable in (busy(3, 5, "tentative"), busy(3, 5, cost=900.0)):
        found = gaps_to_look_at([movable, busy(8, 9)], BASE, BASE + 10 * DAY)
        assert days(found) == [(0, 3), (0, 8), (5, 8), (9, None)]
        assert [len(g.moving) for g in found] == [0, 1, 0, 0]
        assert [g.moving_cost for g in found][1] == (movable.moving_cost or 0.0)
    assert days(gaps_to_look_at([busy(3, 5), busy(8, 9)], BASE, BASE + 10 * DAY)) == [
        (0, 3), (5, 8), (9, None)
    ]  # fmt: skip


def test_of_several_that_may_move_each_stretch_of_neighbours_is_looked_at():
    may = [busy(3, 5, "tentative"), busy(7, 8, "tentative")]
    found = gaps_to_look_at([*may, busy(10, 11)], BASE, BASE + 10 * DAY)
    moved = {d: len(g.moving) for d, g in zip(days(found), found, strict=True)}
    assert moved == {
        (0, 3): 0, (0, 7): 1, (0, 10): 2, (5, 7): 0, (5, 10): 1, (8, 10): 0
    }  # fmt: skip


@pytest.mark.parametrize("seed", range(30))
def test_a_gap_moves_all_that_lies_in_it_and_nothing_firm_does(seed):
    """Against each pair of ends tried by hand; bookings may overlap or touch."""
    r = Random(seed)
    bookings = [
        busy(a, a + r.randint(1, 3), r.choice(["busy", "tentative"]))
        for a in r.sample(range(30), k=7)
    ]
    found = gaps_to_look_at(bookings, BASE, BASE + 40 * DAY)
    edges = [0, *(e for b in bookings for e in days_of(b)), None]
    for gap in found:
        inside = [b for b in bookings if meets(b, gap)]
        assert set(gap.moving) == set(inside)
        assert all(b.movable for b in inside)
        (first, last) = days([gap])[0]
        assert gap.in_free_time or {first, last} <= set(edges)
    free = set(days(gaps_of(bookings, BASE, BASE + 40 * DAY)))
    assert free <= set(days(found))
    assert len(set(days(found))) == len(found)
    widest = days(
        gaps_of([b for b in bookings if not b.movable], BASE, BASE + 40 * DAY)
    )
    assert set(widest) <= set(days(found))


def days_of(one: Busy) -> tuple[int, int]:
    return (one.start - BASE).days, (one.end - BASE).days


def meets(one: Busy, gap: Gap) -> bool:
    return one.end > gap.start and (gap.end is None or one.start < gap.end)


def test_in_a_long_gap_each_month_is_a_beginning_too():
    found = gaps_to_look_at([busy(3, 5), busy(100, 110)], BASE, BASE + 200 * DAY)
    starts = [g.start for g in found if g.in_free_time]
    assert [(s.month, s.day) for s in starts] == [
        (3, 1), (4, 1), (5, 1), (7, 1), (8, 1)
    ]  # fmt: skip
    assert all(s - BASE - 5 * DAY >= APART for s in starts)


# ------------------------------------------------------------ which are kept


def option(
    back: int | None,
    closed: int,
    cost: float | None,
    hits: float = 0.0,
    moving: float = 0.0,
) -> ClosureOption:
    """Return a closure that is kept by a day, as long and dear as said."""
    end = BASE + (back or 90) * DAY
    kept = None if back is None else end
    gap = Gap(
        start=BASE, end=end + DAY,
        moving=(busy(1, 2, cost=moving),) if moving else (),
    )  # fmt: skip
    return ClosureOption(
        gap=gap,
        figures=Figures(
            closure=(end - closed * DAY, end),
            returns=(BackBy(kind=ReturnKind.FULL_SERVICE, planned=end, kept=kept),),
            stage_cost=cost,
            labour_cost=None,
            binds=(),
            minutes=(),
            proven=True,
            next_hit_frac=hits,
        ),
    )


def choices(
    options: Sequence[ClosureOption], back_by: datetime | None = None
) -> ClosureChoices:
    return ClosureChoices(
        job="a wall", zone="UTC", currency="", since=BASE, until=BASE + 99 * DAY,
        sure_percent=80, options=tuple(options), back_by=back_by,
    )  # fmt: skip


def plain_filter(options: Sequence[ClosureOption]) -> list[ClosureOption]:
    """Return those that no other beats, each held against every other one."""
    out = []
    for mine in options:
        rows = [criteria(o) for o in options if criteria(o) != criteria(mine)]
        if not any(
            all(a <= b for a, b in zip(row, criteria(mine), strict=True))
            for row in rows
        ):
            out.append(mine)
    return out


@pytest.mark.parametrize("seed", range(40))
def test_what_is_left_out_is_what_a_plain_filter_of_pairs_leaves_out(seed):
    r = Random(seed)
    options = [
        option(
            r.choice([None, *range(20, 26)]), r.randint(10, 14),
            r.choice([None, 1.0, 2.0, 3.0]), r.choice([0.0, 0.1, 0.2]),
            r.choice([0.0, 1.0]),
        )
        for _ in range(r.randint(0, 25))
    ]  # fmt: skip
    assert list(undominated(options)) == plain_filter(options)
    found = choices(options)
    assert len(found.ranked()) + len(found.beaten()) == len(options)


def test_the_price_of_moving_a_booking_counts_as_cost():
    free, moved = option(20, 10, 100.0), option(20, 10, 95.0, moving=10.0)
    assert moved.cost == 105.0
    assert undominated([free, moved]) == (free,)
    assert option(20, 10, None).cost is None
    assert option(20, 10, None, moving=10.0).cost == 10.0


def test_the_cheapest_comes_first_but_after_those_that_are_back_when_wanted():
    """Of those that aren't, the one comes first that is the least late."""
    late, early = option(30, 10, 100.0), option(20, 12, 120.0)
    never = option(None, 9, 50.0)
    assert choices([late, early, never]).ranked() == (never, late, early)
    wanted = choices([late, early, never], back_by=BASE + 25 * DAY)
    assert wanted.ranked() == (early, late, never)
    assert [wanted.in_time(o) for o in wanted.ranked()] == [True, False, False]


@pytest.mark.parametrize("seed", range(10))
def test_the_ranking_hangs_on_nothing_but_the_closures(seed):
    r = Random(seed)
    options = [
        option(r.randint(20, 30), r.randint(8, 14), float(r.randint(1, 5)))
        for _ in range(12)
    ]
    ranked = choices(options).ranked()
    r.shuffle(options)
    assert [criteria(o) for o in choices(options).ranked()] == [
        criteria(o) for o in ranked
    ]
    costs = [o.cost or 0.0 for o in ranked]
    assert all(a <= b for a, b in pairwise(costs))


def test_a_gap_is_too_short_by_its_end_alone():
    gap = Gap(start=BASE, end=BASE + 9 * DAY)
    short = ClosureOption(gap=gap, needs_until=BASE + 11 * DAY)
    assert short.too_short
    assert (short.needs_minutes, gap.minutes) == (11 * 1440, 9 * 1440)
    assert not replace(short, needs_until=BASE + 9 * DAY).too_short
    assert not replace(short, gap=replace(gap, end=None)).too_short

"""Orders of tasks in a job of many zones: begun one after another, ended closer together.

Tests of planner/schedule/first/orders.py.
"""

from random import Random

import pytest

from planner.schedule.first.orders import FANNED_ZONES, FANS, REACH, WEIGHTS, Orders

STARTS = (0, 10, 40)  # the latest starts of the tasks of each zone
ZONES = [f"z{number:02}" for number in range(FANNED_ZONES)]


def moved(number: int) -> list[list[float]]:
    """Return for each zone, the least moved first, how far each of its tasks is moved."""
    late = [start for _ in ZONES for start in STARTS]
    orders = Orders(late, [zone for zone in ZONES for _ in STARTS])
    key = orders.spread(number, Random(3))
    by_zone = zip(*[iter(key)] * len(STARTS), strict=True)
    return sorted(
        [at - start for at, start in zip(row, STARTS, strict=True)] for row in by_zone
    )


@pytest.mark.parametrize("number", range(len(FANS)))
def test_a_zones_first_task_moves_by_its_rank_and_its_last_by_a_share_of_that(number):
    weight, last = FANS[number]
    span = STARTS[-1] - STARTS[0] + 1
    step = REACH / FANNED_ZONES * weight * span
    for rank, (first, middle, end) in enumerate(moved(number)):
        assert first == pytest.approx(rank * step)
        assert end == pytest.approx(rank * step * last)
        # the middle task lies a quarter of the way to the last
        assert middle == pytest.approx(first + (end - first) / 4)


def test_some_orders_let_zones_end_closer_together_and_some_do_not():
    assert {last < 1 for _, last in FANS} == {True, False}


@pytest.mark.parametrize("number", range(len(WEIGHTS)))
def test_with_fewer_zones_all_tasks_of_a_zone_move_alike(number):
    names = ZONES[1:]
    orders = Orders([*STARTS] * len(names), [z for z in names for _ in STARTS])
    key = iter(orders.spread(number, Random(3)))
    for row in zip(*[key] * len(STARTS), strict=True):
        moves = [at - start for at, start in zip(row, STARTS, strict=True)]
        assert moves == pytest.approx([moves[0]] * len(STARTS))


def test_a_zone_of_one_task_moves_as_its_last():
    orders = Orders([5] * FANNED_ZONES, list(ZONES))
    weight, last = FANS[0]
    step = REACH / FANNED_ZONES * weight
    assert sorted(orders.spread(0, Random(3))) == pytest.approx(
        [5 + rank * step * last for rank in range(FANNED_ZONES)]
    )

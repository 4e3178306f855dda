"""Where there are several of a kind each counts: less of a pool, pins, pools, days.

Tests of planner/schedule/check/tally.py, planner/schedule/climb/solve.py,
planner/schedule/problem/consistency.py, planner/schedule/why/fixed.py,
planner/schedule/why/relaxing.py.
"""

import pytest

from planner.hours.spans import Spans
from planner.schedule.check.tally import values
from planner.schedule.problem.consistency import require_consistency
from planner.schedule.problem.parts import AimKind, Demand, Pin, Pool
from planner.schedule.why.fixed import capacity_profile, shift_at
from planner.schedule.why.relaxing import lift
from tests.support.schedule import instance, person, place, spans, task

ANN = person("ann")


def test_each_stretch_of_less_takes_places_away_and_the_least_counts():
    pool = Pool(id="bay", capacity=3, less=((2, 6, 2), (4, 8, 1), (9, 10, 0)))
    found = capacity_profile(pool, 11).tolist()
    assert found == [3, 3, 2, 2, 1, 1, 1, 1, 3, 0, 3]


def test_a_shift_lasts_until_the_next_begins():
    ann = person("ann", (2, 4), (6, 8), shifts=spans((2, 4), (6, 8)))
    assert [shift_at(ann, t) for t in (0, 1, 2, 5, 6, 9)] == [-1, -1, 0, 0, 1, 1]


@pytest.mark.parametrize("bad", ["one", "two"])
def test_the_faults_of_any_pool_are_told(bad):
    pools = tuple(
        Pool(id=name, capacity=1, less=((3, 2, 0),) if name == bad else ())
        for name in ("one", "two")
    )
    with pytest.raises(ValueError, match=f"pool {bad}: less"):
        require_consistency(instance(task("a", 2, "ann"), people=(ANN,), pools=pools))


def test_lifting_a_fact_takes_away_its_pins_and_keeps_the_others():
    pins = tuple(Pin(task=n, start=s, fact=f"pin {n}") for s, n in enumerate("abc"))
    posed = instance(*(task(n, 1, "ann") for n in "abc"), people=(ANN,), pins=pins)
    assert lift(posed, ()).pins == pins
    assert lift(posed, ("pin b",)).pins == (pins[0], pins[2])
    assert lift(posed, ("pin a", "pin c")).pins == (pins[1],)


def test_a_hire_day_is_paid_once_for_each_day_on_which_any_task_takes_it():
    """Days of five ticks at 7 each; taken on the first, by two, and on the third."""
    lift_ = (Demand(pool="lift"),)
    posed = instance(
        task("a", 2, "ann", demands=lift_),
        task("b", 1, "ann", demands=lift_),
        task("c", 2, "ann", demands=lift_),
        task("d", 1, "ann"),
        people=(ANN,),
        pools=(Pool(id="lift", day_price=7), Pool(id="saw", day_price=100)),
        days=Spans(((0, 5), (6, 10), (11, 15), (16, 20))),
        aims=(AimKind.COST,),
    )
    placed = (
        place("a", 0, 2, "ann"),
        place("b", 3, 4, "ann"),
        place("c", 12, 14, "ann"),
        place("d", 17, 18, "ann"),
    )
    assert values(posed, placed)[AimKind.COST] == 14
